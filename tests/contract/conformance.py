"""The contract put to the service by a general tool: requests made from the document, answers held against it."""

import re
import shutil
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from flask import Flask
from werkzeug.serving import make_server

CONFIGURATION = Path(__file__).with_name("schemathesis.toml")
_CASES = re.compile(r"Test cases:\s+([0-9,]+) generated")
_FAILURE = re.compile(r"❌ (ST\d+ [^\n]+): (\d+)")


@dataclass(frozen=True)
class Conformance:
    """How many requests were made, and which kinds of failure were found how often."""

    cases: int
    failures: dict[str, int]
    said: str


@contextmanager
def served(app: Flask) -> Iterator[str]:
    """Give the address of the application behind a real server on loopback."""
    server = make_server("127.0.0.1", 0, app, threaded=True)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield f"http://127.0.0.1:{server.server_port}"
    server.shutdown()
    server.server_close()


def conformance(address: str, keys: dict[str, str], phases: str, examples: int, seed: int, seconds: int) -> Conformance:
    """Put the contract to the service at an address, with keys in their fields and every check; bounded in time."""
    tool = shutil.which("schemathesis", path=str(Path(sys.executable).parent))
    assert tool is not None, "schemathesis is one of the test dependencies"
    done = subprocess.run(
        [tool, "--config-file", str(CONFIGURATION), "run", f"{address}/v1/openapi.json", "--checks", "all",
         "--phases", phases, "--max-examples", str(examples), "--seed", str(seed), "--no-color",
         *(part for field, key in keys.items() for part in ("--header", f"{field}: {key}"))],
        capture_output=True, text=True, timeout=seconds, check=False,
    )  # fmt: skip
    counted = _CASES.search(done.stdout)
    assert counted is not None, done.stdout[-3000:] + done.stderr[-1000:]
    failures = {name: int(count) for name, count in _FAILURE.findall(done.stdout)}
    assert bool(failures) == bool(done.returncode), done.stdout[-3000:]
    return Conformance(int(counted[1].replace(",", "")), failures, done.stdout)
