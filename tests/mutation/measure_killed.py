"""Of small changes to the code that decides, at least 90 % are noticed by a test; every one that is not is printed.

The changed copies are made and run in a folder of their own, so that the checkout stays as it is.
"""

import os
import re
import shutil
import subprocess
import sys
import tempfile
from collections import Counter
from pathlib import Path

import click

from tests.speed.a_calibration import row

ROOT = Path(__file__).parents[2]
LIMIT_S = 1500
NOTICED = ("killed", "timeout", "caught by type check")
_LINE = re.compile(r"^\s*(\S+): ([a-z ]+)$", re.MULTILINE)


def measure() -> str:
    """Return the row of the table; the changes that no test noticed go to standard error."""
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder) / "copy"
        shutil.copytree(
            ROOT, copy, ignore=shutil.ignore_patterns(".git", ".venv", "mutants", "__pycache__", ".steelyard")
        )
        _run(copy, "run")
        ended = dict(_LINE.findall(_run(copy, "results", "--all", "true")))
        left = sorted(name for name, how in ended.items() if how not in NOTICED)
        for name in left:
            click.echo(f"not noticed: {name}\n{_changed_lines(_run(copy, 'show', name))}", err=True)
    counted = Counter(how in NOTICED for how in ended.values())
    share = counted[True] / max(len(ended), 1) * 100
    how = f"{counted[True]} of {len(ended)} changes to five files that decide"
    return row("changes noticed by a test, %", "90", f"{share:.1f}", how, f"{len(left)} printed above")


def _run(copy: Path, *words: str) -> str:
    # The installed package would be found first otherwise, and the changes never run.
    surroundings = os.environ | {"PYTHONPATH": "."}
    done = subprocess.run(
        [str(Path(sys.executable).with_name("mutmut")), *words],
        cwd=copy, env=surroundings, capture_output=True, text=True, timeout=LIMIT_S, check=False,
    )  # fmt: skip
    if done.returncode:
        raise SystemExit(
            f"mutmut {words[0]} ended with {done.returncode}:\n{done.stdout[-2000:]}\n{done.stderr[-2000:]}"
        )
    return done.stdout


def _changed_lines(shown: str) -> str:
    return "\n".join(line for line in shown.splitlines() if re.match(r"[-+](?![-+])", line))


if __name__ == "__main__":
    click.echo(measure())
