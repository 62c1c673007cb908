"""100 kills of the service under apps that go on sending: nothing acknowledged is lost, nothing is on record twice.

On SQLite, and on PostgreSQL where STEELYARD_TEST_POSTGRESQL gives an address.
"""

import tempfile
from pathlib import Path

import click

from tests.faults.a_served_record import a_record, servers
from tests.faults.under_kills import under_kills
from tests.speed.a_calibration import row

KILLS, SEED = 100, 2026


def measure(name: str, server: str | None) -> str:
    """Return the row of the table for one database."""
    with tempfile.TemporaryDirectory(dir=Path.cwd()) as folder, a_record(server, Path(folder) / "record") as settings:
        survived = under_kills(settings, Path(folder) / "apps", KILLS, SEED)
    return row(
        f"visits lost, doubled or wrong under kills, {name}",
        "0",
        str(len(survived.faults)),
        f"{survived.kills} kills, {survived.acknowledged} acknowledged, 4 apps, {survived.seconds:.0f} s, seed {SEED}",
        "30 % of them sent again though acknowledged",
    )


if __name__ == "__main__":
    for name, server in servers().items():
        click.echo(measure(name, server))
