"""Importing 10,000 calibrations of 30 readings from NDJSON, judged, logged, `synchronous=FULL`: at most 15 s and 300 MB.

The floor, measured in the same run in a file of its own: the standard library parses each line, and raw SQL inserts its
readings, each with its pieces (indexed by piece and day), and one log row with the line; 500 lines a commit. Nothing is
checked or judged there. The trial that always comes before a commit is printed beside.
"""

import json
import os
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from itertools import islice
from pathlib import Path

import click
from sqlalchemy import func, select

from api.database import make_engine, reading
from api.models.log import LOG_ENTRY
from api.models.record import STANDING
from api.settings import Settings
from tests.speed.a_calibration import body_of_30_readings, record_with_the_network, row, seconds_of
from tests.speed.measure_accepting import FLOOR_TABLES

CALIBRATIONS = 10_000
CHUNK = 500
BEGINS = datetime(2024, 1, 8, 8, tzinfo=UTC)
PROFILE = {"code": "lines", "source": "OLD", "layout": "a submission a line"}
DEVICES = ("A-04", "A-01", "A-02", "A-03")


def lines(count: int) -> Iterator[str]:
    """Give as many submissions, of several scales, one every hour or so of two years and a half."""
    body = json.loads(body_of_30_readings())
    for n in range(count):
        begins = BEGINS + timedelta(minutes=90 * n)
        body["device"] = DEVICES[n % len(DEVICES)]
        body["performed"] = {"start": begins.isoformat(), "end": (begins + timedelta(minutes=40)).isoformat()}
        yield json.dumps(body)


def floor(file: Path, folder: Path) -> None:
    """Parse and insert, and nothing else."""
    raw = sqlite3.connect(folder / "floor.db", isolation_level=None)
    raw.executescript(f"PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL; {FLOOR_TABLES}")
    with file.open() as opened:
        numbered = enumerate(opened)
        while chunk := list(islice(numbered, CHUNK)):
            readings, pieces, log = [], [], []
            for number, line in chunk:
                sent = json.loads(line)
                name, day = str(number), sent["performed"]["start"][:10]
                for r in sent["as_found"]["readings"]:
                    load, shown = r.get("load", {}).get("value"), r["indication"]
                    readings.append((name, r["seq"], r["test"], load, shown["value"], shown["unit"]))
                    pieces += [(name, r["seq"], piece, day) for piece in r.get("pieces", ())]
                log.append(("0" * 64, line))
            raw.execute("BEGIN IMMEDIATE")
            raw.executemany("INSERT INTO floor_reading VALUES (?, ?, ?, ?, ?, ?)", readings)
            raw.executemany("INSERT INTO floor_piece VALUES (?, ?, ?, ?)", pieces)
            raw.executemany("INSERT INTO floor_log (hash, body) VALUES (?, ?)", log)
            raw.execute("COMMIT")
    raw.close()


def command(settings: Settings, *arguments: str) -> tuple[float, float]:
    """Run a command of `steelyard` and return how long it took, and the most megabytes that its processes held together."""
    environment = {**os.environ, "STEELYARD_FOLDER": str(settings.folder)}
    started, most = time.perf_counter(), 0.0
    with subprocess.Popen(
        [sys.executable, "-m", "api.cli", *arguments], env=environment, stdout=subprocess.DEVNULL
    ) as running:
        while running.poll() is None:
            most = max(most, _megabytes(running.pid))
            time.sleep(0.1)
    assert running.returncode == 0
    return time.perf_counter() - started, most


def _megabytes(pid: int) -> float:
    """What a process and those it started hold now, shared pages counted once (proportional set size)."""
    try:
        held = Path(f"/proc/{pid}/smaps_rollup").read_text()
        started = Path(f"/proc/{pid}/task/{pid}/children").read_text().split()
    except OSError:
        return 0.0
    own = next((int(line.split()[1]) / 1024 for line in held.splitlines() if line.startswith("Pss:")), 0.0)
    return own + sum(_megabytes(int(child)) for child in started)


def measure(count: int) -> str:
    """Return the two rows of the table."""
    with tempfile.TemporaryDirectory(dir=Path.cwd()) as made:
        folder = Path(made)
        settings = record_with_the_network(folder)
        file, profile = folder / "old.ndjson", folder / "lines.json"
        with file.open("w") as opened:
            opened.writelines(f"{line}\n" for line in lines(count))
        profile.write_text(json.dumps(PROFILE))
        least = seconds_of(lambda: floor(file, folder))
        tried, held = command(settings, "import", str(file), "--profile", str(profile))
        kept, most = command(settings, "import", str(file), "--profile", str(profile), "--commit")
        _check(settings, count)
    figure = f"importing {count} calibrations of 30 readings"
    return "\n".join((
        row(f"{figure}, s", "15", f"{kept:.1f}", "NDJSON, judged, logged, FULL, 250 a transaction; the whole command",
            f"{kept / least:.1f} times the floor ({least:.1f} s); the trial before it {tried:.1f} s"),
        row(f"{figure}, MB", "300", f"{max(held, most):.0f}", "proportional set size of all its processes", ""),
    ))  # fmt: skip


def _check(settings: Settings, count: int) -> None:
    """What was asked was done: every line has a record that stands, with its own entry in the log."""
    engine = make_engine(settings.database_url)
    with reading(engine) as connection:
        stood = connection.scalar(select(func.count()).select_from(STANDING))
        logged = connection.scalar(select(func.count()).where(LOG_ENTRY.c.kind == "calibration imported"))
    engine.dispose()
    assert (stood, logged) == (count, count)


if __name__ == "__main__":
    click.echo(measure(int(sys.argv[1]) if len(sys.argv) > 1 else CALIBRATIONS))
