"""`steelyard --help` at most 0.4 s; publishing the demo at most 3 s; the demo from nothing."""

import os
import subprocess
import sys
import tempfile
from pathlib import Path

import click

from tests.speed.a_calibration import middle, row, seconds_of

COMMAND = Path(sys.executable).with_name("steelyard")


def run(folder: str, *words: str) -> None:
    """Run the command as a process of its own."""
    environment = {**os.environ, "STEELYARD_FOLDER": folder}
    subprocess.run([COMMAND, *words], env=environment, check=True, capture_output=True)


def measure() -> list[str]:
    """Return the rows of the table."""
    with tempfile.TemporaryDirectory(dir=Path.cwd()) as folder:
        helped = [seconds_of(lambda: run(folder, "--help")) for _ in range(10)]
        demo = seconds_of(lambda: run(folder, "demo", "--once", "--port", "0"))
        published = [seconds_of(lambda: run(f"{folder}/demo", "publish", "--quiet")) for _ in range(5)]
    return [
        row(
            "steelyard --help, s",
            "0.4",
            f"{middle(helped):.2f}",
            "median of 10, whole process",
            f"slowest {max(helped):.2f} s",
        ),
        row(
            "publishing the demo, s",
            "3",
            f"{middle(published):.2f}",
            "median of 5, whole process",
            f"slowest {max(published):.2f} s",
        ),
        row("steelyard demo --once, s", "-", f"{demo:.1f}", "one run, whole process", "-"),
    ]


if __name__ == "__main__":
    click.echo("\n".join(measure()))
