"""Write the folder of a version of the wire: visits, register, judgements and certificates, as the program makes them today.

Once a version, before its release: `python -m tests.records.write_version calibration-1`. What is there is not overwritten.
"""

import json
import tempfile
from pathlib import Path
from typing import Any
from unittest.mock import patch

import click
from flask.testing import FlaskClient

from api.database import reading
from api.demo.network import register_entries
from api.queries.judgements import stored_working
from tests.doors import JSON, example, example_bytes
from tests.faults.a_served_record import a_record
from tests.filled_record import NOON, TODAY, door_to

KEPT = Path(__file__).with_name("kept")
EXAMPLES = (
    "calibration-pass", "calibration-fail-adjusted", "calibration-dual-unit", "calibration-not-tested",
    "calibration-balance", "calibration-wheelchair", "calibration-bed-pads", "calibration-dialysis",
)  # fmt: skip
WITH_CERTIFICATE = ("calibration-pass", "calibration-fail-adjusted", "calibration-balance")


def visits() -> dict[str, bytes]:
    """Return the visits of a version: the published examples, and one that names what the register does not have."""
    doubtful = example() | {"ward": "QG-NOWHERE", "technicians": ["T-77"], "purpose": "audit"}
    doubtful["performed"] = {"start": "2026-11-23T10:09:00-07:00", "end": "2026-11-23T10:49:00-07:00"}
    doubtful["attachments"] = [{"digest": f"sha256:{64 * 'a'}", "what": "the label on the column"}]
    return {name: example_bytes(name) for name in EXAMPLES} | {"doubtful": json.dumps(doubtful, indent=1).encode()}


def ids() -> dict[str, str]:
    """Return the id of each visit."""
    return {name: f"0193f0aa-0000-7000-8000-{number:012}" for number, name in enumerate(visits(), start=1)}


@click.command()
@click.argument("name")
def write_version(name: str) -> None:
    """Write the folder of a version."""
    folder = KEPT / name
    folder.mkdir()
    entries = [
        {"address": f"{e.collection}/{e.key}", "valid_from": e.valid_from.isoformat(), "record": e.record}
        for e in register_entries(TODAY)
    ]
    _write(folder / "register.json", entries)
    with tempfile.TemporaryDirectory() as beside, a_record(None, Path(beside)) as settings, door_to(settings) as client:
        engine = client.application.extensions["steelyard.engine"]
        for visit, body in visits().items():
            receipt = _sent(client, ids()[visit], body)
            (folder / f"{visit}.submission.json").write_bytes(body)
            _write(folder / f"{visit}.receipt.json", receipt)
            with reading(engine) as connection:
                working = stored_working(connection, receipt["site"], receipt["calibration"], 1, 1)
            (folder / f"{visit}.judgement.json").write_bytes(working)
            if visit in WITH_CERTIFICATE:
                stored = client.get(f"/v1/certificates/{receipt['certificate']}").data
                (folder / f"{visit}.certificate.json").write_bytes(stored)
    click.echo(f"{len(visits())} visits in {folder}")


def _sent(client: FlaskClient, calibration: str, body: bytes) -> Any:
    with patch("api.routes.receiving.now", lambda: NOON):
        answer = client.put(f"/v1/calibrations/{calibration}", data=body, headers=JSON)
    assert answer.status_code == 201, answer.json
    return answer.json


def _write(path: Path, document: Any) -> None:
    path.write_text(json.dumps(document, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    write_version()
