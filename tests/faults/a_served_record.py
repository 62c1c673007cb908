"""The service as a real process on a record of its own, that can be killed at any moment and started again on its port."""

import http.client
import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from api.demo.network import register_entries
from api.settings import Settings
from tests.conftest import POSTGRESQL
from tests.filled_record import TODAY, new_record, put_register

ROOT = Path(__file__).parents[2]
START_SECONDS = 30


def a_free_port() -> int:
    """Return a port of the machine itself that nobody listens on."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


class ServedRecord:
    """A record and the service on it. Its processes are a group of their own: only they are ever killed."""

    def __init__(self, settings: Settings) -> None:
        self.settings, self.port = settings, a_free_port()
        self._running: subprocess.Popen[bytes] | None = None

    @property
    def address(self) -> str:
        """Where it is asked."""
        return f"http://127.0.0.1:{self.port}"

    def start(self) -> None:
        """Start the service, and return when it answers."""
        asked = [sys.executable, "-m", "api.cli", "serve", "--port", str(self.port), "--no-work"]
        self._running = subprocess.Popen(
            asked, cwd=ROOT, env=self.settings.as_environment(), stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
            start_new_session=True,
        )  # fmt: skip
        self.wait()

    def wait(self) -> None:
        """Return when the service answers."""
        until = time.monotonic() + START_SECONDS
        while not self._answers():
            assert time.monotonic() < until, "the service does not answer"
            assert self._running is not None
            assert self._running.poll() is None, "the service has ended"
            time.sleep(0.02)

    def _answers(self) -> bool:
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=START_SECONDS)
        try:
            connection.request("GET", "/v1/openapi.json")
            return connection.getresponse().status == 200
        except OSError:
            return False
        finally:
            connection.close()

    def kill_worker(self) -> None:
        """Kill the process that does the work; the one that watches over it starts another."""
        assert self._running is not None
        watching = self._running.pid
        workers = Path(f"/proc/{watching}/task/{watching}/children").read_text("ascii").split()
        assert workers, "the service has no worker"
        os.kill(int(workers[0]), signal.SIGKILL)

    def kill(self) -> None:
        """Kill the service and its workers at once, with a signal that none of them can do anything about."""
        if self._running is not None and self._running.poll() is None:
            os.killpg(self._running.pid, signal.SIGKILL)
            self._running.wait()


@contextmanager
def served(settings: Settings) -> Iterator[ServedRecord]:
    """Give a running service on a record, and kill it at the end."""
    record = ServedRecord(settings)
    record.start()
    try:
        yield record
    finally:
        record.kill()


@contextmanager
def a_record(server: str | None, folder: Path) -> Iterator[Settings]:
    """Give the settings of a new record with the network's register, on SQLite or on a server."""
    folder.mkdir(parents=True, exist_ok=True)
    with new_record(server, folder) as url:
        put_register(url, register_entries(TODAY))
        yield Settings(url, folder, open_door=True)


def servers() -> dict[str, str | None]:
    """Return where a full run is made: on SQLite, and on PostgreSQL where an address is given."""
    return {"SQLite": None} | ({"PostgreSQL": POSTGRESQL} if POSTGRESQL else {})
