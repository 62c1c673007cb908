"""A client generated from the committed contract by a general tool does a full cycle against the real service."""

import importlib
import json
import shutil
import subprocess
import sys
import threading
import uuid
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from werkzeug.serving import make_server

from tests.doors import example

CONTRACT = Path(__file__).parents[2] / "openapi" / "steelyard.json"
CONFIGURATION = Path(__file__).parent / "generated_client.yml"


@pytest.fixture
def template(registered: str) -> str:
    return registered


@pytest.fixture(scope="module")
def generated(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    """Give the generated package, importable; a part that could not be generated fails."""
    folder = tmp_path_factory.mktemp("generated")
    tool = shutil.which("openapi-python-client", path=str(Path(sys.executable).parent))
    assert tool is not None, "openapi-python-client is one of the test dependencies"
    said = subprocess.run(
        [tool, "generate", "--path", str(CONTRACT), "--output-path", str(folder / "steelyard_client"), "--meta", "none",
         "--config", str(CONFIGURATION)],
        capture_output=True, text=True, timeout=120, check=True,
    )  # fmt: skip
    assert "WARNING" not in said.stdout + said.stderr, said.stdout
    sys.path.insert(0, str(folder))
    yield importlib.import_module("steelyard_client")
    sys.path.remove(str(folder))


@pytest.fixture
def address(app: Flask) -> Iterator[str]:
    server = make_server("127.0.0.1", 0, app, threaded=True)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield f"http://127.0.0.1:{server.server_port}"
    server.shutdown()
    server.server_close()


def operation(room: str, name: str) -> Any:
    return importlib.import_module(f"steelyard_client.api.{room}.{name}")


def model(name: str, module: str) -> Any:
    return getattr(importlib.import_module(f"steelyard_client.models.{module}"), name)


def test_a_generated_client_registers_sends_resends_conflicts_and_reads(generated: Any, address: str) -> None:
    body = example()
    visit = uuid.uuid4()
    put = operation("calibrations", "put_calibrations_by_calibration_id")
    with generated.Client(base_url=address) as client:
        read = operation("devices", "read_devices_by_key").sync_detailed("A-04", client=client)
        device, tag = read.parsed, read.headers["ETag"]
        changed = model("DeviceChange", "device_change").from_dict(
            {"valid_from": "2026-11-01", "record": device.record.to_dict() | {"firmware": "2.5"}}
        )
        registered = operation("devices", "put_devices_by_key").sync("A-04", client=client, body=changed, if_match=tag)
        sent = model("Submission", "submission").from_dict(body)
        first = put.sync_detailed(visit, client=client, body=sent)
        again = put.sync_detailed(visit, client=client, body=sent)
        sent.remarks = "something else"
        other = put.sync_detailed(visit, client=client, body=sent)
        kept = operation("calibrations", "read_calibrations_by_calibration_id").sync(visit, client=client)
        use = operation("answers", "read_devices_use_by_tag").sync("A-04", client=client, on=date(2026, 11, 25))

    assert registered.record.firmware == "2.5"
    assert (first.status_code, again.status_code, other.status_code) == (201, 200, 409)
    assert (first.parsed.replayed, again.parsed.replayed, again.parsed.digest) == (False, True, first.parsed.digest)
    assert json.loads(other.content)["pointers"] == ["#/remarks"]
    assert kept.content.to_dict() == body
    assert use.may == "may use"
