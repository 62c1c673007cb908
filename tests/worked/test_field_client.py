"""The reference field client keeps a visit until the service holds it. Rules: `openapi/examples/field_client.py` itself.

Against the real application behind a real server; what goes wrong on the way is put between the two.
"""

import importlib.util
import json
import threading
import uuid
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from werkzeug.serving import make_server

from tests.doors import change, example_bytes
from tests.filled_record import EXAMPLES

Wsgi = Callable[..., Any]


def field_client() -> Any:
    spec = importlib.util.spec_from_file_location("field_client", EXAMPLES / "field_client.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


CLIENT = field_client()


class Between:
    """Stands before the application and does, for each request in turn, what the plan says; then lets all through."""

    def __init__(self, app: Wsgi, *plan: str) -> None:
        self.app, self.plan, self.seen = app, list(plan), 0

    def __call__(self, environ: Any, start: Any) -> Any:
        self.seen += 1
        what = self.plan.pop(0) if self.plan else "through"
        if what == "busy":
            start("503 Service Unavailable", [("Retry-After", "7"), ("Content-Type", "text/html")])
            return [b"busy"]
        if what == "no key":
            start("401 Unauthorized", [("Content-Type", "application/problem+json")])
            return [b'{"code": "no-key"}']
        answered = self.app(environ, start)
        if what == "answer lost":
            return [b'{"calibr']
        return answered


@pytest.fixture
def between(app: Flask) -> Between:
    return Between(app.wsgi_app)


@pytest.fixture
def address(between: Between) -> Iterator[str]:
    server = make_server("127.0.0.1", 0, between, threaded=True)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield f"http://127.0.0.1:{server.server_port}"
    server.shutdown()
    server.server_close()


@pytest.fixture
def template(registered: str) -> str:
    return registered


def sent(outbox: Any, address: str) -> tuple[bool, list[float]]:
    pauses: list[float] = []
    return CLIENT.keep_sending(outbox, CLIENT.Service(address), pauses.append), pauses


def test_an_id_is_a_uuid_of_version_7_that_begins_with_its_milliseconds() -> None:
    # RFC 9562 appendix A.6: 2022-02-22T14:22:22-05:00 is 0x017F22E279B0 milliseconds
    made = uuid.UUID(CLIENT.new_id(1645557742.0))

    assert (made.version, made.variant, made.hex[:12]) == (7, uuid.RFC_4122, "017f22e279b0")


def test_a_visit_leaves_the_outbox_only_with_a_receipt_of_its_own_bytes(
    address: str, between: Between, tmp_path: Path
) -> None:
    outbox = CLIENT.Outbox(tmp_path / "outbox")
    visit = outbox.add(example_bytes())
    between.plan = ["busy", "answer lost"]

    all_sent, pauses = sent(outbox, address)

    assert all_sent
    assert (outbox.waiting(), between.seen) == ([], 3)
    assert pauses[0] == 7  # as Retry-After asked
    receipt = json.loads((outbox.folder / f"{visit}.receipt").read_bytes())
    assert (receipt["calibration"], receipt["replayed"]) == (
        visit,
        True,
    )  # kept at the second sending, whose answer was lost
    assert not (outbox.folder / f"{visit}.json").exists()


def test_a_refused_visit_is_set_aside_with_what_was_said_and_the_others_go_on(address: str, tmp_path: Path) -> None:
    outbox = CLIENT.Outbox(tmp_path / "outbox")
    wrong, right = outbox.add(b'{"schema": "calibration/1"}'), outbox.add(example_bytes())

    assert sent(outbox, address)[0]

    assert (outbox.folder / f"{right}.receipt").exists()
    said = json.loads((outbox.folder / f"{wrong}.refused").read_bytes())
    assert (said["status"], said["code"]) == (422, "wrong-shape")
    assert outbox.content(wrong) == b'{"schema": "calibration/1"}'


def test_without_a_key_everything_stays_in_the_outbox(address: str, between: Between, tmp_path: Path) -> None:
    outbox = CLIENT.Outbox(tmp_path / "outbox")
    visits = [outbox.add(example_bytes()), outbox.add(example_bytes("calibration-not-tested"))]
    between.plan = ["no key"]

    assert sent(outbox, address) == (False, [])

    assert (outbox.waiting(), between.seen) == (sorted(visits), 1)


def test_with_no_service_at_all_it_keeps_trying_ever_more_slowly(tmp_path: Path) -> None:
    outbox = CLIENT.Outbox(tmp_path / "outbox")
    visit = outbox.add(example_bytes())
    pauses: list[float] = []

    def pause(seconds: float) -> None:
        pauses.append(seconds)
        if len(pauses) == 12:
            raise TimeoutError

    with pytest.raises(TimeoutError):
        CLIENT.keep_sending(outbox, CLIENT.Service("http://127.0.0.1:9"), pause)

    assert outbox.waiting() == [visit]
    assert all(seconds <= min(2.0 ** (n + 1), 900) for n, seconds in enumerate(pauses))


def test_a_bundle_is_fetched_once_until_it_changes(address: str, app: Flask, tmp_path: Path) -> None:
    service, file = CLIENT.Service(address), tmp_path / "qg.json"
    assert service.fetch_bundle("QG", file)
    first = file.read_bytes()

    assert not service.fetch_bundle("QG", file)
    assert file.read_bytes() == first
    ward = app.test_client().get("/v1/wards/QG-CDU").json["record"] | {"call_number": "9"}
    change(app.test_client(), "wards/QG-CDU", "2026-01-01", ward)
    assert service.fetch_bundle("QG", file)
    assert json.loads(file.read_bytes())["log_number"] > json.loads(first)["log_number"]


def test_what_was_added_survives_a_stop_and_half_written_files_are_no_visits(tmp_path: Path) -> None:
    folder = tmp_path / "outbox"
    visit = CLIENT.Outbox(folder).add(example_bytes())
    (folder / f"{CLIENT.new_id()}.json-part").write_bytes(b'{"sche')

    assert CLIENT.Outbox(folder).waiting() == [visit]
    assert CLIENT.Outbox(folder).content(visit) == example_bytes()
