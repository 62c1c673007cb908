"""10,000 calibrations of one moment, listed while two others put more in: each comes exactly once, on both databases."""

import random
import tempfile
import time
from pathlib import Path

import click

from api.app import create_app
from api.demo.network import register_entries
from tests.conftest import POSTGRESQL
from tests.faults.lists_while_written import fill, read_while_written
from tests.filled_record import TODAY, copy_of, new_record, put_register
from tests.speed.a_calibration import row

ROWS = 10_000
SEED = 10


def measured(server: str | None) -> str:
    """Return the row of the table for one database."""
    with tempfile.TemporaryDirectory(dir=Path.cwd()) as name, new_record(server, Path(name) / "new") as url:
        put_register(url, register_entries(TODAY))
        with copy_of(url, Path(name) / "copy") as settings:
            app = create_app(settings)
            old = fill(app, ROWS, random.Random(SEED))
            start = time.perf_counter()
            read = read_while_written(app, old, 100, writers=2, seed=SEED)
            seconds = time.perf_counter() - start
            database = app.extensions["steelyard.engine"].dialect.name
            app.extensions["steelyard.engine"].dispose()
    once = sum(1 for count in read.of_old.values() if count == 1)
    return row(
        f"rows of one moment listed exactly once, {database}", f"{ROWS}", str(once),
        f"{read.parts} parts in {seconds:.1f} s", f"{read.put_in} put in meanwhile, {read.new} of them came",
    )  # fmt: skip


if __name__ == "__main__":
    for asked in (None, *((POSTGRESQL,) if POSTGRESQL else ())):
        click.echo(measured(asked))
