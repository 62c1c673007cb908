"""The `steelyard` command as a technician runs it: in this process on a record of its own, or as a process beside."""

import itertools
import json
import os
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from api.cli import main
from api.settings import Settings
from tests.doors import an_id, later
from tests.filled_record import copy_of

Run = Callable[..., Result]
ROOT = Path(__file__).parents[2]


def runner_on(settings: Settings) -> Run:
    """Return what runs a command on a record and gives its status and words."""
    environment = {
        "STEELYARD_FOLDER": str(settings.folder),
        "STEELYARD_DATABASE_URL": settings.database_url,
        "STEELYARD_PORT": None,
        "STEELYARD_DOOR": "open" if settings.open_door else None,
        "STEELYARD_KEY": settings.key,
    }

    def run(*arguments: str) -> Result:
        found = CliRunner(env=environment).invoke(main, list(arguments))
        assert found.exception is None or isinstance(found.exception, SystemExit), found.exception
        return found

    return run


@pytest.fixture
def steelyard(settings: Settings) -> Run:
    """Run commands on a fresh, migrated record."""
    return runner_on(settings)


@pytest.fixture
def filled(registered: str, tmp_path: Path) -> Iterator[Settings]:
    """Give the settings of a record that holds the network's register."""
    with copy_of(registered, tmp_path / "filled") as settings:
        yield settings


def process(settings: Settings, *arguments: str) -> "subprocess.Popen[str]":
    """Start a command as a process of its own, its words readable line by line."""
    environment = {**settings.as_environment(), "PYTHONUNBUFFERED": "1"}
    command = [sys.executable, "-m", "api.cli", *arguments]
    return subprocess.Popen(
        command, cwd=ROOT, env=environment, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True
    )


def words_of(arguments: list[str], **environment: str) -> "subprocess.CompletedProcess[str]":
    """Run a command in a process of its own to its end."""
    command = [sys.executable, "-m", "api.cli", *arguments]
    told = {name: value for name, value in os.environ.items() if not name.startswith("STEELYARD_")} | environment
    return subprocess.run(command, cwd=ROOT, env=told, capture_output=True, text=True, timeout=120, check=False)


class Desk:
    """Commands as one person runs them on a running service, and the files they are given."""

    def __init__(self, run: Any, to: str, folder: Path) -> None:
        self._run, self._to, self._folder = run, to, folder
        self._hours = itertools.count(0, -1)

    def __call__(self, command: str, *arguments: str, by: str = "S-01") -> Result:
        found: Result = self._run(command, *arguments, "--to", self._to, "--by", by)
        return found

    def here(self, command: str, *arguments: str) -> Result:
        """Run a command that reads the record itself."""
        found: Result = self._run(command, *arguments)
        return found

    def file(self, body: Any) -> str:
        """Write a body into a file."""
        path = self._folder / f"{an_id()}.json"
        path.write_text(json.dumps(body))
        return str(path)

    def sent(self, body: Any) -> str:
        """Send a visit at a time of its own and return its id."""
        calibration = an_id()
        assert self("submit", self.file(later(body, next(self._hours))), "--id", calibration).exit_code == 0
        return calibration


@pytest.fixture(scope="module")
def desk(registered: str, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Desk]:
    """Start the service on a record with the network's register, and stop it again."""
    with copy_of(registered, tmp_path_factory.mktemp("desk")) as settings:
        started = process(settings, "serve", "--port", "0")
        assert started.stdout is not None
        try:
            address = started.stdout.readline().split()[1].removesuffix("/v1/about")
            yield Desk(runner_on(settings), address, settings.folder)
        finally:
            started.send_signal(signal.SIGTERM)
            started.communicate(timeout=30)
