"""Accepting a calibration of 30 readings, judged and committed with synchronous=FULL: at most 4 times the floor.

The floor, measured between the runs in the same file: the standard library parses the body, and raw SQL inserts its
readings, each with its pieces (indexed by piece and day, as the record must be), and one log row with the body; one
commit. The ratio to the same floor without the pieces is printed beside.
"""

import json
import sqlite3
import tempfile
import uuid
from datetime import UTC, datetime
from functools import partial
from pathlib import Path

import click
from sqlalchemy import Engine

from api.actions.record_calibration import record_calibration
from api.database import make_engine, unit_of_work
from api.keeping.content import Arrived
from schemas.strict_json import strict_json
from schemas.submission import submission_of
from tests.speed.a_calibration import body_of_30_readings, middle, record_with_the_network, row, seconds_of

RUNS = 300
FLOOR_TABLES = """
CREATE TABLE floor_reading (cal TEXT, seq INTEGER, test TEXT, load TEXT, shown TEXT, unit TEXT, PRIMARY KEY (cal, seq));
CREATE TABLE floor_piece (cal TEXT, seq INTEGER, piece TEXT, day TEXT, PRIMARY KEY (cal, seq, piece)) WITHOUT ROWID;
CREATE INDEX floor_piece_day ON floor_piece (piece, day);
CREATE TABLE floor_log (number INTEGER PRIMARY KEY, hash TEXT, body BLOB);
"""


def accept(engine: Engine, body: bytes) -> None:
    """Take a body through the strict door, judge it, keep it, commit it."""
    content = strict_json(body)
    sent = submission_of(content)
    arrived = Arrived(str(uuid.uuid4()), body, content, "T-01", datetime.now(UTC))
    receipt = unit_of_work(engine, lambda connection: record_calibration(connection, arrived, sent))
    assert receipt.certificate is not None
    assert not receipt.replayed


def floor(raw: sqlite3.Connection, body: bytes, *, pieces: bool) -> None:
    """Parse the body, insert readings, pieces where asked, and a log row, raw, and commit."""
    name = str(uuid.uuid4())
    readings = json.loads(body)["as_found"]["readings"]
    raw.execute("BEGIN IMMEDIATE")
    raw.executemany("INSERT INTO floor_reading VALUES (?, ?, ?, ?, ?, ?)", [_reading(name, r) for r in readings])
    if pieces:
        rows = [(name, r["seq"], piece, "2026-11-23") for r in readings for piece in r.get("pieces", ())]
        raw.executemany("INSERT INTO floor_piece VALUES (?, ?, ?, ?)", rows)
    raw.execute("INSERT INTO floor_log (hash, body) VALUES (?, ?)", ("0" * 64, body))
    raw.execute("COMMIT")


def _reading(name: str, reading: dict[str, dict[str, str]]) -> tuple[object, ...]:
    shown = reading["indication"]
    return name, reading["seq"], reading["test"], reading.get("load", {}).get("value"), shown["value"], shown["unit"]


def measure() -> str:
    """Return the row of the table."""
    with tempfile.TemporaryDirectory(dir=Path.cwd()) as folder:
        engine = make_engine(record_with_the_network(Path(folder)).database_url)
        raw = sqlite3.connect(Path(folder) / "record.db", isolation_level=None)
        raw.execute("PRAGMA synchronous=FULL")
        raw.executescript(FLOOR_TABLES)
        ours, least, bare = [], [], []
        for visit in range(RUNS):
            body = body_of_30_readings(visit)
            least.append(seconds_of(partial(floor, raw, body, pieces=True)))
            ours.append(seconds_of(partial(accept, engine, body)))
            bare.append(seconds_of(partial(floor, raw, body, pieces=False)))
        raw.close()
        engine.dispose()
    ratio = middle([a / b for a, b in zip(ours, least, strict=True)])
    to_bare = middle([a / b for a, b in zip(ours, bare, strict=True)])
    return row(
        "accepting one calibration of 30 readings, ratio",
        "4",
        f"{ratio:.2f}",
        f"{middle(ours) * 1e3:.2f} ms beside {middle(least) * 1e3:.2f} ms, {RUNS} pairs in one file, FULL",
        f"{to_bare:.1f} beside the floor without its piece rows ({middle(bare) * 1e3:.2f} ms)",
    )


if __name__ == "__main__":
    click.echo(measure())
