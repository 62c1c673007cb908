"""50 threads on each of 100 ids: exactly one makes each record, the others are replays or conflicts.

On SQLite, and on PostgreSQL where STEELYARD_TEST_POSTGRESQL gives an address.
"""

import tempfile
import time
from pathlib import Path

import click

from api.app import create_app
from tests.faults.a_served_record import a_record, servers
from tests.faults.one_id_at_once import THREADS, one_id_at_once
from tests.speed.a_calibration import row

IDS = 100


def measure(name: str, server: str | None) -> str:
    """Return the row of the table for one database."""
    begun = time.monotonic()
    with tempfile.TemporaryDirectory(dir=Path.cwd()) as folder, a_record(server, Path(folder)) as settings:
        app = create_app(settings)
        found = one_id_at_once(app, IDS)
        app.extensions["steelyard.engine"].dispose()
    told = ", ".join(f"{count} of status {status}" for status, count in sorted(found.answers.items()))
    return row(
        f"ids under which not exactly one was created, {name}",
        "0",
        str(len(found.faults)),
        f"{THREADS} threads on each of {IDS} ids, {time.monotonic() - begun:.0f} s",
        told,
    )


if __name__ == "__main__":
    for name, server in servers().items():
        click.echo(measure(name, server))
