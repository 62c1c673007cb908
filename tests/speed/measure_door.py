"""What a key costs a request, and what accepting a calibration over HTTP costs beside a bare route of the same server.

The bare route takes the same body over the same kept connection and answers nothing; it is asked between the calibrations.
The
server is the one that `serve` runs, with keys asked for, on a SQLite record with the network's register.
"""

import http.client
import socket
import subprocess
import sys
import tempfile
import time
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

import click
from flask import Flask, request

from api.app import create_app
from api.cli.server import options_of
from api.settings import Settings, settings_from_environment
from tests.keyed import a_key, bearing
from tests.speed.a_calibration import body_of_30_readings, middle, record_with_the_network, row, seconds_of

RUNS, WARM, START_SECONDS = 300, 20, 30
ASKED = 1000  # below what a key may ask in a minute


def microseconds_of_admission(app: Flask, key: str | None) -> float:
    """Return what goes before each request, with a key or through an open door; the key is remembered, as it mostly is."""
    headers = bearing(key) if key else {}

    def admitted() -> float:
        with app.test_request_context("/v1/about", headers=headers, environ_base={"REMOTE_ADDR": "127.0.0.1"}):
            return seconds_of(app.preprocess_request)

    return middle([admitted() for _ in range(ASKED)]) * 1e6


@contextmanager
def serving(settings: Settings) -> Iterator[int]:
    """Give the port of the server with the bare route beside the service's own."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = int(probe.getsockname()[1])
    environment = replace(settings, port=port).as_environment()
    started = subprocess.Popen([sys.executable, __file__, "serve"], env=environment, stdout=subprocess.DEVNULL)
    try:
        _wait_for(port)
        yield port
    finally:
        started.terminate()
        started.wait(timeout=START_SECONDS)


def _wait_for(port: int) -> None:
    for _ in range(START_SECONDS * 10):
        try:
            socket.create_connection(("127.0.0.1", port), timeout=1).close()
            return
        except OSError:
            time.sleep(0.1)
    raise TimeoutError("the server did not start")


def ratio_over_http(settings: Settings, key: str) -> tuple[float, float, float]:
    """Return the median ratio, and the medians of both in seconds."""
    with serving(settings) as port:
        connection = http.client.HTTPConnection("127.0.0.1", port, timeout=START_SECONDS)
        fields = bearing(key) | {"Content-Type": "application/json"}

        def put(path: str, body: bytes, status: int) -> float:
            def sent() -> None:
                connection.request("PUT", path, body, fields)
                answer = connection.getresponse()
                answer.read()
                assert answer.status == status, answer.status

            return seconds_of(sent)

        ours, bare = [], []
        for run in range(RUNS + WARM):
            body = body_of_30_readings(run)
            accepted = put(f"/v1/calibrations/{uuid.uuid4()}", body, 201)
            empty = put("/bare", body, 204)
            if run >= WARM:
                ours.append(accepted)
                bare.append(empty)
        connection.close()
    return middle([a / b for a, b in zip(ours, bare, strict=True)]), middle(ours), middle(bare)


def measure() -> str:
    """Return the rows of the table."""
    with tempfile.TemporaryDirectory(dir=Path.cwd()) as folder:
        settings = record_with_the_network(Path(folder))
        opened, keyed = create_app(settings), create_app(replace(settings, open_door=False))
        key = a_key(keyed.extensions["steelyard.engine"], "read", "submit", sites=("QG",))
        with_key, without = (microseconds_of_admission(app, k) for app, k in ((keyed, key), (opened, None)))
        ratio, ours, bare = ratio_over_http(replace(settings, open_door=False), key)
    admission = row(
        "admitting a request by its key", "-", f"{with_key:.0f} us", f"median of {ASKED}, the key remembered, SQLite",
        f"{without:.0f} us through an open door",
    )  # fmt: skip
    accepting = row(
        "accepting a calibration over HTTP with a key, ratio", "-", f"{ratio:.1f}",
        f"{ours * 1e3:.2f} ms beside {bare * 1e3:.2f} ms, {RUNS} pairs on one connection, 30 readings, FULL",
        "a bare route of the same server that takes the same body",
    )  # fmt: skip
    return f"{admission}\n{accepting}"


def serve() -> None:
    """Serve the record of this environment with the bare route."""
    from api.cli.server import Server

    class WithBareRoute(Server):
        def load(self) -> Flask:
            app = create_app(self.settings)

            @app.put("/bare")
            def bare() -> tuple[str, int]:
                request.get_data()
                return "", 204

            return app

    settings = settings_from_environment()
    WithBareRoute(settings, options_of(settings, settings.port, workers=1)).run()


if __name__ == "__main__":
    if sys.argv[1:] == ["serve"]:
        serve()
    else:
        click.echo(measure())
