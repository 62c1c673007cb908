"""Judging 30 readings: at most 0.5 ms."""

import tempfile
from pathlib import Path

import click

from api.database import make_engine, reading
from api.keeping.case_on_file import on_file
from api.metrology.judging import judge
from schemas.strict_json import strict_json
from schemas.submission import submission_of
from tests.speed.a_calibration import body_of_30_readings, middle, record_with_the_network, row, seconds_of

RUNS = 500


def measure() -> str:
    """Return the row of the table."""
    with tempfile.TemporaryDirectory() as folder:
        engine = make_engine(record_with_the_network(Path(folder)).database_url)
        sent = submission_of(strict_json(body_of_30_readings()))
        with reading(engine) as connection:
            case = on_file(connection, sent).case
        assert case is not None
        times = [seconds_of(lambda: judge(case)) for _ in range(RUNS)]
        engine.dispose()
    least, median = min(times) * 1e3, middle(times) * 1e3
    return row(
        "judging 30 readings, ms", "0.5", f"{median:.2f}", f"median of {RUNS} in one process", f"fastest {least:.2f} ms"
    )


if __name__ == "__main__":
    click.echo(measure())
