"""The demo: everything through the running service, and each request that writes is one entry of the log."""

import os
import re
import signal
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

from api.settings import Settings
from tests.cli.conftest import process, words_of
from tests.conftest import POSTGRESQL

pytestmark = pytest.mark.skipif(
    bool(POSTGRESQL), reason="the demo makes a SQLite record of its own, whatever the installation has"
)
MOST_SECONDS = 60


@pytest.fixture
def served(tmp_path: Path) -> Iterator["subprocess.Popen[str]"]:
    """Give a demo that has said that it serves."""
    started = process(Settings(f"sqlite:///{tmp_path / 'other.db'}", tmp_path), "demo", "--port", "0")
    assert started.stdout is not None
    for line in iter(started.stdout.readline, "Served on this machine only. Stop with Ctrl-C.\n"):
        assert line, "it ended before it served"
    yield started
    started.kill()
    started.communicate()


def children_of(parent: int) -> list[int]:
    """The processes that a process started."""
    return [int(child) for child in Path(f"/proc/{parent}/task/{parent}/children").read_text().split()]


def test_the_demo_serves_as_many_requests_as_it_logs_and_publishes_the_site(tmp_path: Path) -> None:
    said = words_of(["demo", "--once", "--port", "0"], STEELYARD_FOLDER=str(tmp_path))

    assert said.returncode == 0, said.stderr
    counted = re.search(r"(\d+) requests served, (\d+) log entries", said.stdout)
    assert counted is not None, said.stdout
    assert counted[1] == counted[2]
    assert int(counted[1]) > 100
    assert "Published " in said.stdout
    assert "A-04" in (tmp_path / "demo" / "site" / "d" / "a-04" / "index.html").read_text("utf-8")
    assert (tmp_path / "demo" / "record.db").is_file()


def test_a_demo_whose_service_ended_says_so_and_ends(served: "subprocess.Popen[str]") -> None:
    (service,) = children_of(served.pid)

    os.kill(service, signal.SIGKILL)

    said, _ = served.communicate(timeout=MOST_SECONDS)
    assert (served.returncode, said) == (
        1, "Error: The service ended by itself with status -9. Start the demo again.\n",
    )  # fmt: skip


@pytest.mark.parametrize(("asked", "status"), [(signal.SIGINT, 0), (signal.SIGTERM, 143)])
def test_a_demo_that_is_stopped_stops_its_service(
    served: "subprocess.Popen[str]", asked: signal.Signals, status: int
) -> None:
    """POSIX shells tell a program that a signal ended as 128 and its number: 143 for SIGTERM."""
    (service,) = children_of(served.pid)

    served.send_signal(asked)

    said, _ = served.communicate(timeout=MOST_SECONDS)
    assert (served.returncode, said) == (status, "Stopped.\n")
    assert not Path(f"/proc/{service}").exists()


def test_a_demo_that_is_stopped_while_it_fills_the_record_stops_its_service(tmp_path: Path) -> None:
    started = process(Settings(f"sqlite:///{tmp_path / 'other.db'}", tmp_path), "demo", "--port", "0")
    assert started.stdout is not None
    assert started.stdout.readline().startswith("A fresh record")
    while not (found := children_of(started.pid)):
        assert started.poll() is None

    started.send_signal(signal.SIGTERM)

    said, _ = started.communicate(timeout=MOST_SECONDS)
    assert (started.returncode, said.splitlines()[-1]) == (143, "Stopped.")
    assert not any(Path(f"/proc/{service}").exists() for service in found)
