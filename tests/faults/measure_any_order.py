"""1,000 orders of arrival of one scale's history, a third of it twice: the same history, use, due date, and state as left.

On SQLite, and on PostgreSQL where STEELYARD_TEST_POSTGRESQL gives an address.
"""

import tempfile
import time
from pathlib import Path

import click

from api.database import make_engine
from tests.faults.a_served_record import a_record, servers
from tests.faults.any_order import differing, what_arrives
from tests.speed.a_calibration import row

ORDERS, SEED = 1_000, 2026


def measure(name: str, server: str | None) -> str:
    """Return the row of the table for one database."""
    begun = time.monotonic()
    with tempfile.TemporaryDirectory(dir=Path.cwd()) as folder, a_record(server, Path(folder)) as settings:
        engine = make_engine(settings.database_url)
        things = len(what_arrives(engine))
        different = differing(engine, ORDERS, SEED)
        engine.dispose()
    return row(
        f"orders of arrival that come to another answer, {name}",
        "0",
        str(different),
        f"{ORDERS} orders of {things} things, a third of them twice, {time.monotonic() - begun:.0f} s, seed {SEED}",
        "the order of time",
    )


if __name__ == "__main__":
    for name, server in servers().items():
        click.echo(measure(name, server))
