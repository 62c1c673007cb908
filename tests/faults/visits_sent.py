"""Visits as field apps keep and send them in these tests, and what must be true of the record afterwards."""

import hashlib
import importlib.util
import json
import time
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

from sqlalchemy import func, select

from api.database import make_engine, reading
from api.ledger.chain import first_break
from api.models.log import LOG_ENTRY, SEALED
from api.models.record import CONTENT, JUDGEMENT, STANDING
from api.settings import Settings
from tests.doors import example, later
from tests.filled_record import EXAMPLES


def field_client() -> Any:
    """Return the reference field client: the file that is published, not a copy of it."""
    spec = importlib.util.spec_from_file_location("field_client", EXAMPLES / "field_client.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


CLIENT = field_client()


def visit_bytes(number: int) -> bytes:
    """Return a visit at an hour of its own: no two are one visit sent twice."""
    return json.dumps(later(example(), -number) | {"remarks": f"visit {number}"}).encode()


class Patience:
    """How apps pause here: briefly, and not for ever. A field client itself never gives up; a test does."""

    def __init__(self, longest_pause: float, seconds: float) -> None:
        self._longest, self._until = longest_pause, time.monotonic() + seconds

    def __call__(self, pause: float) -> None:
        """Pause; refuses to when the time is up."""
        if time.monotonic() > self._until:
            raise TimeoutError("an app still waits for a receipt")
        time.sleep(min(pause, self._longest))


def outboxes(folder: Path, apps: int, visits: int) -> tuple[list[Any], dict[str, bytes]]:
    """Return the outboxes of so many apps with visits shared out among them, and every visit's bytes by id."""
    boxes = [CLIENT.Outbox(folder / f"app-{app}") for app in range(apps)]
    sent = {}
    for number in range(visits):
        body = visit_bytes(number)
        sent[boxes[number % apps].add(body)] = body
    return boxes, sent


def all_at_once(act: Callable[[Any], object], items: Sequence[Any]) -> None:
    """Act on every item in a thread of its own, and wait for all; a failure of one is a failure of all."""
    with ThreadPoolExecutor(len(items)) as pool:
        for done in [pool.submit(act, item) for item in items]:
            done.result()


def receipts_of(boxes: list[Any]) -> dict[str, dict[str, Any]]:
    """Return the receipt of every visit for which an app let go of its copy."""
    return {path.stem: json.loads(path.read_bytes()) for box in boxes for path in box.folder.glob("*.receipt")}


def faults_of(settings: Settings, sent: dict[str, bytes], receipts: dict[str, dict[str, Any]]) -> list[str]:
    """Return everything that is wrong with a record to which visits were sent, and with the receipts that it gave.

    Each visit once, with exactly its bytes, one judgement and a standing; each receipt names its bytes and its entry of the
    log; the log has no gap and no break.
    """
    engine = make_engine(settings.database_url)
    with reading(engine) as connection:
        kept = connection.execute(
            select(CONTENT.c.calibration, SEALED.c.content).join(SEALED, SEALED.c.digest == CONTENT.c.sealed)
        ).all()
        counts = {
            table.name: connection.scalar(select(func.count()).select_from(table)) for table in (JUDGEMENT, STANDING)
        }
        rows = connection.execute(select(LOG_ENTRY).order_by(LOG_ENTRY.c.number)).mappings()
        entries = [{str(name): value for name, value in row.items()} for row in rows]
    engine.dispose()
    hashes = {entry["number"]: entry["hash"] for entry in entries}
    bodies = {row.calibration: row.content for row in kept}
    found = [f"{name} has {count} rows for {len(kept)}" for name, count in counts.items() if count != len(kept)]
    found += [f"{len(kept)} contents under {len(bodies)} ids"] * (len(kept) != len(bodies))
    found += [f"{one} is not on record" for one in receipts if one not in bodies]
    found += [f"{one} was never sent" for one in bodies if one not in sent]
    found += [f"{one} has other bytes" for one, body in bodies.items() if body != sent.get(one)]
    found += [f"the receipt of {one} is wrong" for one, told in receipts.items() if not _fits(told, sent[one], hashes)]
    found += ["the log has gaps"] * (list(hashes) != list(range(1, len(entries) + 1)))
    broken = first_break((entry, entry.pop("hash")) for entry in entries)
    return found + ([] if broken is None else [f"the log is broken at {broken}"])


def _fits(told: dict[str, Any], body: bytes, hashes: dict[int, str]) -> bool:
    digest = f"sha256:{hashlib.sha256(body).hexdigest()}"
    return told["digest"] == digest and hashes.get(told["log_number"]) == told["log_hash"]
