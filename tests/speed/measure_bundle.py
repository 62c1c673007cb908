"""A bundle for going offline: the demo's larger site, and a site of 300 scales with six visits each, at most 2 s."""

import tempfile
import uuid
from collections import defaultdict
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any

import click

from api.app import create_app
from api.database import make_engine
from api.demo.entry import Entry
from api.demo.history import visits
from api.demo.network import register_entries
from api.settings import Settings
from tests.filled_record import TODAY, copy_of, new_record, put_register
from tests.record.visits_kept import Visit, keep
from tests.speed.a_calibration import middle, row, seconds_of

SCALES = 300
VISITS = 6
TIMES = 5


def _more_scales(entries: list[Entry]) -> tuple[list[Entry], dict[str, str]]:
    """Wards of ten scales of three models like those of the site, and for each scale the tag of the one it is like."""
    ward = next(e for e in entries if e.key == "QG-CDU")
    like = list({e.key: e for e in entries if e.collection == "devices" and e.record["site"] == "QG"}.values())
    like = [entry for entry in like if entry.record["state"] != "retired"]
    made, likes = [], {}
    for number in range(SCALES - len(like)):
        code, tag, one = f"QG-M{number // 10:02}", f"M-{number:03}", like[(number // 10 + number % 3) % len(like)]
        if number % 10 == 0:
            made.append(replace(ward, key=code, record=ward.record | {"code": code, "name": f"Ward {code}"}))
        record = {name: value for name, value in one.record.items() if name != "previous_tags"}
        made.append(replace(one, key=tag, record=record | {"tag": tag, "serial": f"SN-{number:05}", "ward": code}))
        likes[tag] = one.key
    return made, likes


def _more_visits(likes: dict[str, str]) -> list[Visit]:
    """Visits like those of the scales that they are like, half a year apart, as many for each."""
    of_tag: dict[str, list[dict[str, Any]]] = defaultdict(list)
    for _, visit in visits(TODAY):
        of_tag[visit["device"]].append(visit)
    return [_earlier(of_tag[one][turn % len(of_tag[one])], tag, turn) for tag, one in likes.items() if of_tag[one]
            for turn in range(VISITS)]  # fmt: skip


def _earlier(visit: dict[str, Any], tag: str, turn: int) -> Visit:
    day = TODAY - timedelta(days=20 + 180 * turn)
    performed = {"start": f"{day}T10:09:00-07:00", "end": f"{day}T10:31:00-07:00"}
    return str(uuid.uuid5(uuid.NAMESPACE_OID, f"{tag} {turn}")), visit | {"device": tag, "performed": performed}


def _asked(settings: Settings) -> tuple[float, float, int, int]:
    """The median time of a bundle, that of an answer that it is known, how many scales it has, and how many bytes."""
    app = create_app(settings)
    client, address = app.test_client(), f"/v1/bundle?site=QG&set=FS-1&on={TODAY.isoformat()}"
    first = client.get(address)
    whole = middle([seconds_of(lambda: client.get(address)) for _ in range(TIMES)])
    known = middle([
        seconds_of(lambda: client.get(address, headers={"If-None-Match": first.headers["ETag"]})) for _ in range(TIMES)
    ])  # fmt: skip
    app.extensions["steelyard.engine"].dispose()
    return whole, known, len(first.json["devices"]), len(first.data)


def measure() -> list[str]:
    """Return the rows of the table."""
    entries, found = list(register_entries(TODAY)), []
    with tempfile.TemporaryDirectory(dir=Path.cwd()) as name, new_record(None, Path(name) / "new") as url:
        put_register(url, entries)
        for asked in ("demo", "large"):
            more, likes = _more_scales(entries)
            if asked == "large":
                put_register(url, more)
            engine = make_engine(url)
            keep(engine, visits(TODAY) if asked == "demo" else _more_visits(likes))
            engine.dispose()
            with copy_of(url, Path(name) / asked) as settings:
                whole, known, scales, size = _asked(settings)
            found.append(row(
                f"bundle of {scales} scales, s", "2" if asked == "large" else "-", f"{whole:.2f}",
                f"median of {TIMES}, {size / 1e6:.1f} MB", f"known already (304): {known * 1000:.1f} ms",
            ))  # fmt: skip
    return found


if __name__ == "__main__":
    click.echo("\n".join(measure()))
