"""Every refusal has one shape: application/problem+json with the members of RFC 9457, at every address."""

import json
import re
import uuid
from io import BytesIO
from typing import Any
from urllib.parse import quote

import pytest
from flask import Flask
from flask.testing import FlaskClient
from sqlalchemy.exc import OperationalError
from werkzeug.exceptions import (
    BadRequest,
    HTTPException,
    MethodNotAllowed,
    NotFound,
    RequestEntityTooLarge,
    UnsupportedMediaType,
)  # fmt: skip
from werkzeug.test import TestResponse

from api.app import contract_of
from api.metrology.calculations.table import CALCULATIONS
from api.records.every_problem import PROBLEM_CODED
from api.settings import Settings
from tests.doors import JSON, an_id, example_bytes, send
from tests.filled_record import door_to, rows

# RFC 9457 section 3.1: what a problem says, and of which JSON type each member is.
MEMBERS = {"type": str, "title": str, "status": int, "detail": str, "instance": str}
METHODS = ("GET", "PUT", "POST", "DELETE", "PATCH")


def assert_problem(answer: TestResponse, status: int | None = None) -> dict[str, Any]:
    assert answer.mimetype == "application/problem+json"
    problem: dict[str, Any] = answer.json
    assert {name: type(problem[name]) for name in MEMBERS} == MEMBERS
    assert problem["status"] == answer.status_code
    assert status in (None, answer.status_code)
    assert problem["type"] == f"/problems/{problem['code']}/"
    assert problem["title"] == PROBLEM_CODED[problem["code"]].title
    assert uuid.UUID(problem["instance"].removeprefix("/problems/"))
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert answer.headers["Cache-Control"] == "no-store"
    return problem


def addresses(app: Flask) -> list[tuple[str, set[str]]]:
    """Every address of the URL map with its parts filled in, and the methods it takes."""
    found = []
    for rule in app.url_map.iter_rules():
        filled = re.sub(r"<uuid:[^>]+>", an_id(), rule.rule)
        found.append((re.sub(r"<[^>]+>", "nothing-of-this-name", filled), set(rule.methods or ())))
    return found


def test_every_address_refuses_every_other_method_with_a_problem(app: Flask, door: FlaskClient) -> None:
    for address, methods in addresses(app):
        for method in set(METHODS) - methods:
            answer = door.open(address, method=method, data=b"{}", headers=JSON)
            problem = assert_problem(answer, 405)
            assert problem["code"] == "method-not-allowed"
            assert methods <= set(answer.headers["Allow"].split(", ")) | {"HEAD", "OPTIONS"}


def test_a_method_that_is_not_taken_is_told_with_those_that_are(door: FlaskClient) -> None:
    problem = assert_problem(door.open("/v1/devices/A-04", method="POST", data=b"{}", headers=JSON), 405)

    allowed = "GET, HEAD, OPTIONS, PATCH, PUT"
    assert problem["detail"] == f"POST is not taken at this address; allowed: {allowed}."
    assert problem["facts"] == {"method": "POST", "allowed": allowed}


@pytest.mark.parametrize("address", ["/v1/nothing", "/v1/", "/v1/devices/A-04/nothing", "/v1/calibrations/not-an-id"])
@pytest.mark.parametrize("method", METHODS)
def test_what_the_service_does_not_have_is_not_found_by_any_method(
    door: FlaskClient, address: str, method: str
) -> None:
    """RFC 9110 15.5.5 and 15.5.6: 405 is for a resource that is there; where none is, the answer is 404."""
    problem = assert_problem(door.open(address, method=method, data=b"{}", headers=JSON), 404)

    assert problem["code"] == "not-found"
    assert "/v1/openapi.json" in PROBLEM_CODED["not-found"].do


def test_a_body_that_is_too_large_is_told_with_its_size_and_the_limit(door: FlaskClient) -> None:
    problem = assert_problem(send(door, b" " * 2_097_153), 413)

    assert problem["detail"] == "The body has 2097153 bytes; at most 2097152 are taken."
    assert problem["facts"] == {"limit_bytes": "2097152", "sent_bytes": "2097153"}


def sent_in_chunks(door: FlaskClient, body: bytes) -> TestResponse:
    """Send a body whose size is not told beforehand, as the server passes it on."""
    return door.put(
        f"/v1/calibrations/{an_id()}",
        input_stream=BytesIO(body),
        headers=JSON | {"Transfer-Encoding": "chunked"},
        environ_overrides={"wsgi.input_terminated": True},
    )


def test_a_body_in_chunks_of_the_largest_size_is_kept(door: FlaskClient) -> None:
    assert sent_in_chunks(door, example_bytes().ljust(2_097_152)).status_code == 201


@pytest.mark.parametrize("size", [2_097_153, 5_000_000])
def test_a_body_in_chunks_that_is_too_large_is_refused_with_the_limit(door: FlaskClient, size: int) -> None:
    problem = assert_problem(sent_in_chunks(door, example_bytes().ljust(size)), 413)

    assert problem["detail"] == "The body has more than 2097152 bytes, which is the most that is taken."
    assert problem["facts"] == {"limit_bytes": "2097152"}


class Stalled(BytesIO):
    """A body that stops arriving: the server's socket gives up waiting for it."""

    def readinto(self, *_: Any) -> int:
        raise BlockingIOError

    read = readinto


def test_a_body_that_stops_arriving_is_told_and_nothing_is_kept(door: FlaskClient, kept: Settings) -> None:
    before = rows(kept)

    answer = door.put(
        f"/v1/calibrations/{an_id()}", input_stream=Stalled(), headers=JSON, environ_overrides={"CONTENT_LENGTH": "100"}
    )

    assert assert_problem(answer, 408)["code"] == "body-not-arrived"
    assert rows(kept) == before


@pytest.mark.parametrize(
    "raised", [BadRequest, NotFound, MethodNotAllowed, RequestEntityTooLarge, UnsupportedMediaType]
)
def test_no_words_of_the_framework_are_passed_on(
    door: FlaskClient, monkeypatch: pytest.MonkeyPatch, raised: type[HTTPException]
) -> None:
    def raises(*_: Any, **__: Any) -> None:
        raise raised()

    monkeypatch.setattr("api.routes.record.head", raises)

    problem = assert_problem(door.get("/v1/about"))

    assert problem["detail"] not in (None, "", raised.description)


def test_every_address_with_an_unknown_name_answers_with_a_problem(app: Flask, door: FlaskClient) -> None:
    read = [a for a, methods in addresses(app) if "GET" in methods]
    named = [a for a in read if "nothing-of-this" in a or re.search(r"[0-9a-f]{12}", a)]
    assert len(named) > 25

    for address in named:
        problem = assert_problem(door.get(address), 404)
        assert problem["code"] in ("not-on-record", "not-found")


def test_every_address_refuses_an_unknown_question_by_name(app: Flask, door: FlaskClient) -> None:
    asked = [a for a, methods in addresses(app) if a.startswith("/v1/") and "GET" in methods and "openapi" not in a]

    for address in asked:
        problem = assert_problem(door.get(f"{address}?colour=blue"), 400)
        assert [(e["parameter"], e["code"]) for e in problem["errors"]] == [("colour", "parameter-unknown")]


@pytest.mark.parametrize(("sent", "status", "code"), [
    ((b"{}", "text/plain"), 415, "not-acceptable-type"),
    ((b"{}", "application/xml"), 415, "not-acceptable-type"),
    ((b"{}", None), 415, "not-acceptable-type"),
    ((b"", "application/json"), 400, "not-json"),
    ((b"{", "application/json"), 400, "not-json"),
    ((b"{}", "application/json"), 422, "wrong-shape"),
    ((b"[]", "application/json"), 422, "wrong-shape"),
    ((b"null", "application/json"), 422, "wrong-shape"),
    ((b" " * 3_000_000, "application/json"), 413, "too-large"),
])  # fmt: skip
def test_every_door_that_takes_a_body_refuses_a_wrong_one_alike(
    app: Flask, door: FlaskClient, kept: Settings, sent: tuple[bytes, str | None], status: int, code: str
) -> None:
    body, media_type = sent
    before = rows(kept)
    taking = [
        (re.sub(r"{\w+}", "nothing-of-this-name", re.sub(r"{(calibration|event)_id}", an_id(), path)), method)
        for path, operations in contract_of(app.extensions["steelyard.contract"])["paths"].items()
        for method in ("put", "post")
        if not path.endswith(":batch")  # many in one
        and "application/json" in operations.get(method, {}).get("requestBody", {}).get("content", {})
    ]
    assert len(taking) >= 16 + len(CALCULATIONS)

    for address, method in taking:
        headers = {} if media_type is None else {"Content-Type": media_type}
        problem = assert_problem(door.open(address, method=method, data=body, headers=headers), status)
        assert problem["code"] == code
    assert rows(kept) == before


@pytest.mark.parametrize("name", ["\x00", "\x7f", "a\x00b", "‮", "x" * 5000, "%", "..", "<script>", "é", "' OR 1=1 --"])
def test_no_name_in_an_address_breaks_the_service(door: FlaskClient, name: str) -> None:
    for place in ("/v1/devices/{}", "/v1/devices/{}/history", "/v1/devices/{}/use", "/v1/sites/{}/revisions",
                  "/v1/certificates/{}", "/v1/jobs/{}", "/{}", "/v1/{}"):  # fmt: skip
        answer = door.get(place.format(quote(name, safe="")))
        assert answer.status_code in ((414,) if len(name) > 2000 else (404, 308)), place
        assert answer.status_code == 308 or assert_problem(answer)


@pytest.mark.parametrize("question", [
    "/v1/devices?site=%00", "/v1/due?site=%00", "/v1/due?within_days=-1", "/v1/changes?after=99999999999999999999",
    "/v1/changes?after=2147483648", "/v1/changes?limit=0", "/v1/changes?limit=1001", "/v1/changes?after=%C2%B2",
    "/v1/devices?on=2026-W48-3", "/v1/devices?on=20261125", "/v1/devices?on=2026-02-30", "/v1/devices?known_at=+1",
    "/v1/devices?known_at=1e3", "/v1/devices?on=2026-11-25&on=2026-11-26",
])  # fmt: skip
def test_a_question_that_cannot_be_read_is_told_so(door: FlaskClient, question: str) -> None:
    problem = assert_problem(door.get(question), 400)

    assert problem["code"] == "bad-question"
    assert all("accepted" in e["detail"] for e in problem["errors"])


def test_a_fault_of_the_service_is_a_problem_that_says_nothing_of_its_inside(
    door: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    def breaks(*_: Any, **__: Any) -> None:
        raise RuntimeError("the secret of the inside")

    monkeypatch.setattr("api.routes.receiving.record_calibration", breaks)

    answer = send(door, example_bytes())

    problem = assert_problem(answer, 500)
    assert problem["code"] == "fault"
    assert "secret" not in answer.get_data(as_text=True)


def test_a_fault_in_the_middle_leaves_no_half_record(
    client: FlaskClient, settings: Settings, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = rows(settings)
    for step in ("keep_judgement", "keep_arrival", "keep_standings", "issue_certificate", "append_to_log"):
        with monkeypatch.context() as broken:
            broken.setattr(f"api.actions.record_calibration.{step}", lambda *_, **__: 1 / 0)
            assert send(client, example_bytes()).status_code == 500
        assert rows(settings) == before, step

    assert send(client, example_bytes()).status_code == 201


def test_a_record_that_is_held_for_too_long_says_when_to_come_again(
    door: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    def held(*_: Any, **__: Any) -> None:
        raise OperationalError("BEGIN IMMEDIATE", {}, Exception("database is locked"))

    monkeypatch.setattr("api.routes.calibrations.unit_of_work", held)

    answer = send(door, example_bytes())

    assert assert_problem(answer, 503)["code"] == "busy"
    assert int(answer.headers["Retry-After"]) > 0


def test_nothing_of_what_was_sent_can_become_markup_in_an_answer(door: FlaskClient) -> None:
    answer = send(door, json.dumps({"<script>alert(1)</script>": 1}).encode())

    assert_problem(answer, 422)


def test_a_service_without_a_site_says_how_to_get_one(settings: Settings) -> None:
    with door_to(settings) as client:
        problem = assert_problem(client.get("/"), 404)

    assert "steelyard publish" in problem["detail"]


@pytest.mark.parametrize("address", ["/..%2f..%2fetc%2fpasswd", "/%2e%2e/record.db", "/../record.db", "/" + "a" * 300, "/%00",
                                     "/..%2f" + "..%2f" * 8 + "etc"])  # fmt: skip
def test_the_site_serves_no_file_outside_its_folder(settings: Settings, address: str) -> None:
    settings.site_folder.mkdir(parents=True)
    (settings.site_folder / "index.html").write_text("<p>site</p>")

    with door_to(settings) as client:
        with client.get("/") as home:
            assert home.status_code == 200
        assert_problem(client.get(address), 404)
