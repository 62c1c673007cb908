"""Exporting 10,000 calibrations of 30 readings into an archive: how long it takes, and how much it holds at most.

The record is the one that an import makes of 10,000 lines; the whole command is measured, its start included. Beside it,
in the same run: reading every row of the exported tables and packing its bytes, in one pass each, and nothing else.
"""

import json
import sqlite3
import sys
import tempfile
import time
import zlib
from pathlib import Path

import click

from api.queries.exported_tables import EXPORTED
from api.settings import Settings
from tests.speed.a_calibration import record_with_the_network, row, seconds_of
from tests.speed.measure_importing import CALIBRATIONS, PROFILE, command, lines


def floor(settings: Settings, folder: Path) -> None:
    """Read every row of the exported tables and the bytes they name, and pack them."""
    raw = sqlite3.connect(folder / "record.db")
    for name in (*(exported.table.name for exported in EXPORTED), "sealed"):
        pack = zlib.compressobj(1)
        for found in raw.execute(f"SELECT * FROM {name}"):
            pack.compress(repr(found).encode())
        pack.flush()
    raw.close()


def measure(count: int) -> str:
    """Return the rows of the table."""
    with tempfile.TemporaryDirectory(dir=Path.cwd()) as made:
        folder = Path(made)
        settings = record_with_the_network(folder)
        file, profile, archive = folder / "old.ndjson", folder / "lines.json", folder / "all.zip"
        with file.open("w") as opened:
            opened.writelines(f"{line}\n" for line in lines(count))
        profile.write_text(json.dumps(PROFILE))
        command(settings, "import", str(file), "--profile", str(profile), "--commit")
        least = seconds_of(lambda: floor(settings, folder))
        took, held = command(settings, "export", "--to", str(archive))
        started = time.perf_counter()
        command(settings, "import", str(archive))
        back = time.perf_counter() - started
        size = archive.stat().st_size / 1e6
    figure = f"exporting {count} calibrations of 30 readings"
    return "\n".join((
        row(f"{figure}, s", "-", f"{took:.1f}", f"SQLite, the whole command; an archive of {size:.0f} MB",
            f"{took / least:.1f} times reading and packing the rows ({least:.1f} s); trying it out again {back:.1f} s"),
        row(f"{figure}, MB", "-", f"{held:.0f}", "proportional set size at most", ""),
    ))  # fmt: skip


if __name__ == "__main__":
    click.echo(measure(int(sys.argv[1]) if len(sys.argv) > 1 else CALIBRATIONS))
