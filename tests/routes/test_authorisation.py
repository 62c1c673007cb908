"""The authorisation matrix: every route of the URL map, each kind of caller. Whoever adds a route adds it to
`asked_of_routes.py`, or this fails.

Who lacks a key, or has one that is not in order, is told 401; who lacks the scope, 403 with the scope's name; who has it is
let in. And who is for another site gets the same answer for what is there and for what is not, its name apart.
"""

import json
import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from sqlalchemy import Engine
from werkzeug.test import TestResponse

from api.actions.revoke_key import revoke_key
from api.database import unit_of_work
from api.ledger.key_text import OF_INSTALLATION, new_key_text
from api.ledger.label_ids import label_id
from api.records.access_key import OF_A_PERSON
from api.records.caller import SCOPES, Scope
from api.routes.doorkeeper import needs_of
from api.routes.event_examples import REPORT
from api.routes.labels import STUCK
from api.settings import Settings
from tests.doors import JSON, example, example_bytes
from tests.imports.importing import A_PROFILE
from tests.keyed import ALL, a_key, bearing, keyed_app
from tests.routes.asked_of_routes import DIGEST, FILE, NEWER, REQUESTS, SENT, TOLD, Asked
from tests.routes.exports_asked import make

NOT_LET_IN = (401, 403, 429)
Fields = dict[str, str]


@dataclass(frozen=True)
class Doors:
    """The service with keys, what was made on it, and who asks: the fields they send, and the scopes that those have."""

    app: Flask
    made: dict[str, str]
    callers: dict[str, tuple[Fields, frozenset[str]]]
    elsewhere: dict[str, Fields]

    def ask(self, method: str, rule: str, asked: Asked, names: dict[str, str], fields: Fields) -> TestResponse:
        """Ask a route."""
        path = re.sub(r"<(?:\w+:)?(\w+)>", lambda part: names[part[1]].format(**self.made), rule)
        headers = fields | (JSON if asked.body is not None else {})
        return self.app.test_client().open(path, method=method, json=asked.body, headers=headers)

    def without_names(self, method: str, rule: str, names: dict[str, str], fields: Fields) -> tuple[int, str]:
        """Ask a route, and return the answer without what differs anyhow: the names asked for, and the request's own."""
        answer = self.ask(method, rule, REQUESTS[method, rule], names, fields)
        said = re.sub(r"/problems/[0-9a-f-]{36}", "", answer.get_data(as_text=True))
        for name in names.values():
            said = said.replace(name.format(**self.made), "…")
        return answer.status_code, said


@pytest.fixture(scope="module")
def doors(kept: Settings) -> Iterator[Doors]:
    """Give the service with a calibration, its certificate, a job and keys on it."""
    with pytest.MonkeyPatch.context() as patch, keyed_app(kept) as app:
        patch.setattr("api.routes.admission.PER_KEY", ())
        patch.setattr("api.routes.admission.NOT_ACCEPTED", ())
        engine, client = app.extensions["steelyard.engine"], app.test_client()
        everything = bearing(a_key(engine, *ALL, holder="ALL"))
        sent = client.put(f"/v1/calibrations/{SENT}", data=example_bytes(), headers=JSON | everything)
        newer = json.dumps(example() | {"schema": "calibration/9"}).encode()
        client.put(f"/v1/calibrations/{NEWER}", data=newer, headers=JSON | everything)
        assert client.put(f"/v1/reports/{TOLD}", json=REPORT, headers=everything).status_code == 201
        table = {"Content-Type": "text/csv"}
        assert client.put(f"/v1/attachments/{DIGEST}?site=QG", data=FILE, headers=table | everything).status_code == 201
        job = client.post("/v1/jobs", json={"kind": "publish"}, headers=everything)
        at_qg = a_key(engine, "read", holder="AT-QG", sites=("QG",))
        stuck = label_id("QG", SENT)
        told = client.put(f"/v1/labels/{stuck}", json=STUCK | {"calibration": SENT}, headers=everything)
        assert told.json["label"]["right"], told.get_data(as_text=True)
        made = {
            "label": stuck, "certificate": sent.json["certificate"], "job": job.json["job"], "key": at_qg.split("_")[2],
            "import": _import(engine, client), "export": _export(engine, client),
        }  # fmt: skip
        elsewhere = {scope: bearing(a_key(engine, scope, holder=f"HM-{scope}", sites=("HM",))) for scope in SCOPES}
        yield Doors(app, made, dict(_callers(engine)), elsewhere)


def _import(engine: Engine, client: FlaskClient) -> str:
    profile = {"valid_from": "2026-01-01", "record": A_PROFILE}
    everything = bearing(a_key(engine, *ALL, holder="PROFILE"))
    assert client.put("/v1/import-profiles/old-system", json=profile, headers=everything).status_code == 201
    of_qg = bearing(a_key(engine, "import", holder="IMPORT", sites=("QG",)))
    file = b"Tag;Day;Found;Left;Note\nA-04;2019-03-14;100.0;;\n"
    sent = client.post("/v1/imports?profile=old-system", data=file, headers=of_qg | {"Content-Type": "text/csv"})
    name: str = sent.json["file_import"]
    return name


def _export(engine: Engine, client: FlaskClient) -> str:
    of_qg = bearing(a_key(engine, "administer", holder="EXPORT", sites=("QG",)))
    asked = client.post("/v1/exports", json={"since": 0}, headers=of_qg)
    make(engine, asked.json["file_export"])
    name: str = asked.json["file_export"]
    return name


def _callers(engine: Engine) -> Iterator[tuple[str, tuple[Fields, frozenset[str]]]]:
    now = datetime.now(UTC)
    nothing: frozenset[str] = frozenset()
    yield "nobody", ({}, nothing)
    yield "an unknown key", (bearing(new_key_text(OF_INSTALLATION).text), nothing)
    yield "an expired key", (bearing(a_key(engine, *ALL, holder="OLD", made_at=now - timedelta(40), days=30)), nothing)
    revoked = a_key(engine, *ALL, holder="LOST")
    unit_of_work(engine, lambda c: revoke_key(c, revoked.split("_")[2], "lost", by_whom="S-01", moment=now))
    yield "a revoked key", (bearing(revoked), nothing)
    for scope in SCOPES:
        yield f"{scope} alone", (bearing(a_key(engine, scope, holder=f"APP-{scope}")), frozenset({scope}))
    unit = a_key(engine, *ALL, holder="UNIT")
    person = a_key(engine, *ALL, holder="T-01", held_by="person")
    yield "everything and a person", (bearing(unit, person), frozenset(SCOPES))


def routes(app: Flask) -> list[tuple[str, str, Scope, bool]]:
    found = [(method, rule, need.scope, need.person) for method, rule, _, need in needs_of(app) if need is not None]
    assert len(found) > 70
    return found


def test_every_route_is_in_the_matrix_and_no_other(doors: Doors) -> None:
    assert {(method, rule) for method, rule, _, _ in routes(doors.app)} == set(REQUESTS)


def test_every_caller_is_let_in_by_scope_and_nobody_else(doors: Doors) -> None:
    asked = 0
    for method, rule, scope, by_person in routes(doors.app):
        for who, (fields, scopes) in doors.callers.items():
            request = REQUESTS[method, rule]
            answer = doors.ask(method, rule, request, request.nowhere, fields)
            expected = _expected(scope, by_person, scopes, who)
            found = answer.json["code"] if answer.status_code in NOT_LET_IN else "let in"
            assert found == expected, (method, rule, who, answer.get_data(as_text=True)[:300])
            if found == "scope-missing":
                assert answer.json["facts"]["scope"] == scope
            asked += 1
    assert asked == len(REQUESTS) * (5 + len(SCOPES))


def _expected(scope: Scope, by_person: bool, scopes: frozenset[str], who: str) -> str:
    if scope == "public":
        return "let in"
    if not scopes:
        return "key-missing" if who == "nobody" else "key-not-accepted"
    if by_person and who != "everything and a person":
        return "person-missing"
    return "let in" if scope in scopes else "scope-missing"


def test_amendment_and_release_are_never_for_an_installation_alone(doors: Doors) -> None:
    for method, rule, scope, by_person in routes(doors.app):
        assert by_person or scope not in OF_A_PERSON, (method, rule)


def test_another_site_cannot_tell_what_is_there_from_what_is_not(doors: Doors) -> None:
    compared = []
    for method, rule, scope, by_person in routes(doors.app):
        request = REQUESTS[method, rule]
        if not request.apart or not request.there or scope == "public" or by_person:
            continue
        fields = doors.elsewhere[scope]
        answers = [doors.without_names(method, rule, names, fields) for names in (request.there, request.nowhere)]
        assert answers[0] == answers[1], (method, rule)
        assert answers[0][0] >= 400, (method, rule)
        compared.append((method, rule))
    assert len(compared) > 18


def test_the_same_key_for_the_right_site_finds_all_of_it(doors: Doors, kept: Settings) -> None:
    engine = doors.app.extensions["steelyard.engine"]
    at_qg = {scope: bearing(a_key(engine, scope, holder=f"QG-{scope}", sites=("QG",))) for scope in SCOPES}
    for method, rule, scope, by_person in routes(doors.app):
        request = REQUESTS[method, rule]
        if method != "GET" or not request.apart or not request.there or scope == "public" or by_person:
            continue
        answer = doors.ask(method, rule, request, request.there, at_qg[scope])
        assert answer.status_code == 200, (method, rule, answer.get_data(as_text=True)[:300])


def test_no_list_tells_another_site_of_what_is_qgs(doors: Doors) -> None:
    fields = doors.elsewhere
    client = doors.app.test_client()

    def read(path: str, scope: str = "read") -> Any:
        answer = client.get(path, headers=fields[scope])
        assert answer.status_code == 200, answer.get_data(as_text=True)
        return answer.json["items"]

    assert {item["key"] for item in read("/v1/sites")} == {"HM"}
    assert {item["record"]["site"] for path in ("/v1/wards", "/v1/devices") for item in read(path)} == {"HM"}
    assert {item["site"] for item in read("/v1/due")} == {"HM"}
    assert read("/v1/due?site=QG") == read("/v1/due?site=NOWHERE") == []
    assert read("/v1/devices?site=QG") == []
    assert read("/v1/keys", "administer") == [
        item for item in read("/v1/keys", "administer") if item["sites"] == ["HM"]
    ]
    told = read("/v1/changes?limit=1000")
    assert told
    for entry in told:
        touched = {(item["kind"], item["key"]) for item in entry["touched"]}
        travels = {"weight", "weight set"} & {kind for kind, _ in touched}
        assert travels or not touched & {
            ("site", "QG"),
            ("calibration", f"QG/{SENT}"),
            ("access key", doors.made["key"]),
        }
