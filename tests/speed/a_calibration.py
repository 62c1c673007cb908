"""A calibration of 30 readings on a fresh record that holds the demo network: what the figures are measured with."""

import json
import statistics
import time
from collections.abc import Callable
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

from api.app import create_app
from api.cli.record import migrate_record
from api.demo.network import register_entries
from api.settings import Settings

EXAMPLE = Path(__file__).parents[2] / "openapi" / "examples" / "calibration-pass.json"
READINGS = 30


def body_of_30_readings(visit: int = 0, **more: str) -> bytes:
    """Return the example that passes, with more weighings of its repeatability load until it has 30 readings.

    Each visit has an hour of its own, before the one of a lower number: no two are the same visit sent twice.
    """
    sent = json.loads(EXAMPLE.read_text()) | more
    for name, moment in sent["performed"].items():
        sent["performed"][name] = (datetime.fromisoformat(moment) - timedelta(hours=visit)).isoformat()
    readings = sent["as_found"]["readings"]
    repeated = next(r for r in readings if r["test"] == "repeatability")
    while len(readings) < READINGS:
        readings.append(repeated | {"seq": max(r["seq"] for r in readings) + 1})
    return json.dumps(sent).encode()


def record_with_the_network(folder: Path) -> Settings:
    """Make a record in a folder and register the demo network in it, through the application."""
    settings = Settings(f"sqlite:///{folder / 'record.db'}", folder, open_door=True)
    migrate_record(settings)
    client = create_app(settings).test_client()
    for entry in register_entries(date(2026, 11, 25)):
        body = {"valid_from": entry.valid_from.isoformat(), "record": entry.record}
        address = f"/v1/{entry.collection}/{entry.key}"
        answer = client.put(address, json=body)
        if answer.status_code == 428:  # there already: this is a change of it
            answer = client.put(address, json=body, headers={"If-Match": "*"})
        assert answer.status_code in (200, 201), answer.get_data(as_text=True)
    return settings


def seconds_of(work: Callable[[], Any]) -> float:
    """Return how long one call takes."""
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def middle(values: list[float]) -> float:
    """Return the median."""
    return statistics.median(values)


def row(figure: str, asked: str, reached: str, how: str, beside: str) -> str:
    """Return one row of the table."""
    return "\t".join((figure, asked, reached, how, beside))
