"""5,000 visits through a network that drops, delays, doubles, cuts and disorders 20 %: each once, each with its receipt.

On SQLite, and on PostgreSQL where STEELYARD_TEST_POSTGRESQL gives an address. Real time, loopback, one seed.
"""

import tempfile
from pathlib import Path

import click

from tests.faults.a_served_record import a_record, servers
from tests.faults.through_a_bad_network import through_a_bad_network
from tests.speed.a_calibration import row

VISITS, SEED = 5_000, 2026


def measure(name: str, server: str | None) -> str:
    """Return the row of the table for one database."""
    with tempfile.TemporaryDirectory(dir=Path.cwd()) as folder, a_record(server, Path(folder) / "record") as settings:
        passed = through_a_bad_network(settings, Path(folder) / "apps", VISITS, SEED)
    befell = sum(count for fate, count in passed.befell.items() if fate != "through")
    return row(
        f"visits through a bad network, wrong, {name}",
        "0",
        str(len(passed.faults)),
        f"{passed.receipts} of {VISITS} with a receipt, {passed.seconds:.0f} s, 4 apps, seed {SEED}",
        f"{befell} of {passed.befell.total()} requests were lost, late, doubled, cut or disordered",
    )


if __name__ == "__main__":
    for name, server in servers().items():
        click.echo(measure(name, server))
