"""The contract is true: valid OpenAPI 3.1, fresh, covering every address, and every answer is as it says."""

import json
import re
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from jsonschema import Draft202012Validator, FormatChecker
from openapi_spec_validator import OpenAPIV31SpecValidator
from werkzeug.test import TestResponse

from api.cli.contract import contract_text
from api.metrology.calculations.table import CALCULATIONS
from api.records.every_problem import PROBLEMS
from api.records.register import KINDS
from api.routes.problems import STATUS
from api.routes.rounds import EXAMPLE as ROUND
from tests.doors import JSON, an_id, example, reading_of, send
from tests.filled_record import EXAMPLES, TODAY
from tests.routes.attachments_sent import attachments_asked
from tests.routes.events_asked import events_asked
from tests.routes.exports_asked import exports_asked
from tests.routes.imports_asked import imports_asked
from tests.routes.life_asked import life_asked
from tests.routes.weights_asked import labels_asked, weights_asked

COMMITTED = Path(__file__).parents[2] / "openapi" / "steelyard.json"
# Answers of another shape than the example's: bare numbers, one limit, no uncertainty, a fraction, findings.
SPECIAL: dict[str, list[dict[str, Any]]] = {
    "minimum-weight": [
        {"standard_deviation": 0, "division": "0.1"}, {"alpha": "0.4", "beta": 0, "requirement": "0.001"},
        {"alpha": {"value": "0.4", "unit": "mg"}, "beta": "0.01", "requirement": "0.001"},
    ],
    "conformity": [{"value": "1", "standard_uncertainty": 0, "upper": "2"}],
    "uncertainty": [{"contributions": [{"name": "one", "standard_uncertainty": "1"}], "coverage": {"k": 2}}],
    "convert": [{"value": "1", "unit": "kg", "to": "[stone_av]"}],
    "air-density": [{"formula": "height", "height_m": 1600}],
    "relocation": [{
        "load": {"value": "1", "unit": "kg"}, "g_from": {"latitude_deg": 1, "formula": "grs80"}, "g_to": "9.8",
    }],
    "tolerance": [{
        "scheme": "r76", "stage": "initial", "accuracy_class": "III", "unit": "[lb_av]",
        "ranges": [{"max": 600, "d": "0.3", "e": "0.3"}], "load": {"value": "1", "unit": "kg"},
    }],
}  # fmt: skip
KEY = {"held_by": "installation", "holder": "APP-1", "scopes": ["read", "submit"], "sites": ["QG"]}
METHODS = ("get", "put", "post", "delete", "patch")
# The contract itself, and what refuses a calculation that is none; each kind has an address of its own.
UNDESCRIBED = ("/v1/openapi.json", "/v1/calculations/<name>")
ON = f"?on={TODAY.isoformat()}"
KEYS = {
    "sites": "QG", "wards": "QG-CDU", "models": "COL-200", "devices": "A-04", "weights": "FS1-10", "weight-sets": "FS-1",
    "technicians": "T-01", "policies": "network", "house-rules": None, "weight-certificates": None,
    "import-profiles": None,
}  # fmt: skip


@pytest.fixture(scope="module")
def contract() -> dict[str, Any]:
    read: dict[str, Any] = json.loads(contract_text())
    return read


def operations(contract: dict[str, Any]) -> set[tuple[str, str]]:
    return {(path, method) for path, item in contract["paths"].items() for method in item if method in METHODS}


def faults_of(contract: dict[str, Any], schema: dict[str, Any], value: Any) -> list[str]:
    """What a schema of the contract has against a value."""
    whole = {"allOf": [schema], "components": contract["components"]}
    validator = Draft202012Validator(whole, format_checker=FormatChecker())
    return [f"{error.json_path}: {error.message[:200]}" for error in validator.iter_errors(value)]


def request_schema(contract: dict[str, Any], path: str, method: str = "put") -> dict[str, Any]:
    schema: dict[str, Any] = contract["paths"][path][method]["requestBody"]["content"]["application/json"]["schema"]
    return schema


def assert_as_described(contract: dict[str, Any], path: str, method: str, answer: TestResponse) -> None:
    """The status is listed (or a problem), the media type is listed, and the body fits its schema."""
    responses = contract["paths"][path][method]["responses"]
    described = responses.get(str(answer.status_code), responses["default"])
    if "$ref" in described:
        described = contract["components"]["responses"][described["$ref"].rsplit("/", 1)[1]]
    assert answer.mimetype in described["content"], (path, method, answer.status_code)
    value = answer.json if answer.is_json else answer.get_data().decode("latin-1")
    assert faults_of(contract, described["content"][answer.mimetype]["schema"], value) == [], (path, method)


def test_the_contract_is_valid_openapi_3_1(contract: dict[str, Any]) -> None:
    assert contract["openapi"].startswith("3.1.")
    assert [error.message for error in OpenAPIV31SpecValidator(contract).iter_errors()] == []


def test_the_committed_contract_is_what_the_program_says() -> None:
    assert COMMITTED.read_text(encoding="utf-8") == contract_text(), "run: python -m api.cli.contract"


def test_the_service_answers_with_the_committed_contract(door: FlaskClient) -> None:
    assert door.get("/v1/openapi.json").json == json.loads(COMMITTED.read_text(encoding="utf-8"))


def test_every_address_of_the_service_is_documented_and_no_other(app: Flask, contract: dict[str, Any]) -> None:
    served = {
        (re.sub(r"<(?:\w+:)?(\w+)>", r"{\1}", rule.rule), method.lower())
        for rule in app.url_map.iter_rules()
        for method in (rule.methods or set()) - {"HEAD", "OPTIONS"}
        if rule.rule.startswith("/v1/") and rule.rule not in UNDESCRIBED
    }

    assert served == operations(contract)


def test_every_operation_says_what_it_does_and_refers_only_to_what_is_there(contract: dict[str, Any]) -> None:
    for path, method in operations(contract):
        operation = contract["paths"][path][method]
        assert len(operation["summary"]) > 10, (path, method)
        assert operation["responses"]["default"], (path, method)
    references = set(re.findall(r'"\$ref": "#/components/(\w+)/(\w+)"', json.dumps(contract)))
    assert all(name in contract["components"][room] for room, name in references)


def test_every_error_is_described_as_a_problem(contract: dict[str, Any]) -> None:
    for path, method in operations(contract):
        for status, described in contract["paths"][path][method]["responses"].items():
            if status == "default" or int(status) >= 400:
                if "$ref" in described:
                    described = contract["components"]["responses"][described["$ref"].rsplit("/", 1)[1]]
                assert list(described["content"]) == ["application/problem+json"], (path, method, status)


def questions_of(client: FlaskClient) -> dict[tuple[str, str], list[TestResponse]]:
    """Every operation asked at least once, with answers of several statuses."""
    passed, failed, flagged, dual = an_id(), an_id(), an_id(), an_id()
    doubtful = example() | {"device_revision": 7, "ward": "QG-NOWHERE"}
    reading_of(doubtful, "increasing", load="100")["indication"]["value"] = "99.95"
    conflict = example() | {"purpose": "audit"}
    sent = [
        send(client, example(), passed), send(client, example(), passed), send(client, conflict, passed),
        send(client, {}), send(client, example("calibration-fail-adjusted"), failed), send(client, doubtful, flagged),
        send(client, b"{"), send(client, example("calibration-dual-unit"), dual),
        send(client, example("calibration-not-tested")),
    ]  # fmt: skip
    assert [a.status_code for a in sent] == [201, 200, 409, 422, 201, 201, 400, 201, 201]
    unknown = example() | {"device": "Z-99"}
    send(client, unknown)
    devices = [r["key"] for r in client.get(f"/v1/devices{ON}").json["items"]]
    number = sent[0].json["certificate"]
    key = client.post("/v1/keys", json=KEY)
    person = client.post("/v1/keys", json=KEY | {"held_by": "person", "holder": "T-01", "scopes": ["release"]})
    why = {"because": "lost"}
    revocation = f"{key.headers['Location']}/revocation"
    job, ended = (client.post("/v1/jobs", json={"kind": "publish"}) for _ in range(2))
    cancelled = client.post(f"{ended.headers['Location']}/cancel")
    newer, with_id = an_id(), example() | {"id": an_id()}
    sent += [send(client, example() | {"schema": "calibration/2"}, newer) for _ in range(2)]
    found = {
        ("/v1/calibrations/{calibration_id}", "put"): sent,
        ("/v1/calibrations", "get"): [
            client.get(f"/v1/calibrations?{asked}") for asked in ("limit=2", "standing=released", "cursor=A", "verdict=x")
        ],
        ("/v1/calibrations", "post"): [client.post("/v1/calibrations", json=body) for body in (with_id, with_id, {})],
        ("/v1/calibrations:check", "post"): [
            client.post("/v1/calibrations:check", json=body) for body in (example(), doubtful, {})
        ],
        ("/v1/calibrations:batch", "post"): [
            client.post(f"/v1/calibrations:batch?mode={mode}", json=[example() | {"id": an_id()}, *more])
            for mode in ("each", "all")
            for more in ([], [{}, with_id, with_id | conflict, with_id | {"schema": "calibration/2"}])
        ],
        ("/v1/quarantine", "get"): [client.get("/v1/quarantine")],
        ("/v1/quarantine/{calibration_id}", "get"): [client.get(f"/v1/quarantine/{i}") for i in (newer, an_id())],
        ("/v1/calibrations/{calibration_id}", "get"): [
            client.get(f"/v1/calibrations/{i}") for i in (passed, failed, flagged, dual, an_id())
        ],
        ("/v1/calibrations/{calibration_id}/content", "get"): [client.get(f"/v1/calibrations/{passed}/content")],
        ("/v1/devices/{tag}/history", "get"): [client.get(f"/v1/devices/{tag}/history") for tag in devices],
        ("/v1/devices/{tag}/use", "get"): [client.get(f"/v1/devices/{tag}/use{ON}") for tag in [*devices, "Z-99"]],
        ("/v1/devices/{tag}/plan", "get"): [
            *(client.get(f"/v1/devices/{tag}/plan{ON}") for tag in [*devices, "Z-99"]),
            *(client.get(f"/v1/devices/{tag}/plan{ON}&set=FS-1") for tag in devices),
        ],
        ("/v1/devices/{tag}/instead", "get"): [
            client.get(f"/v1/devices/{tag}/instead{ON}") for tag in [*devices, "Z-99"]
        ],
        ("/v1/devices/{tag}/weighing", "get"): [
            client.get(f"/v1/devices/{tag}/weighing{ON}{asked}")
            for tag in [*devices, "Z-99"] for asked in ("", "&reading=70.5+kg", "&reading=500+[lb_av]", "&reading=70.5")
        ],
        ("/v1/devices/{tag}/corners", "get"): [
            client.get(f"/v1/devices/{tag}/corners{ON}") for tag in [*devices, "Z-99"]
        ],
        ("/v1/due", "get"): [client.get(f"/v1/due{ON}"), client.get(f"/v1/due{ON}&within_days=x")],
        ("/v1/certificates/{certificate_number}", "get"): [
            client.get(f"/v1/certificates/{n}") for n in (number, "x")
        ],
        ("/v1/changes", "get"): [client.get("/v1/changes?limit=1000"), client.get("/v1/changes?after=999999")],
        ("/v1/bundle", "get"): [
            client.get(f"/v1/bundle{ON}{asked}") for asked in ("&site=QG&set=FS-1", "&site=HM", "&site=NOWHERE", "")
        ],
        ("/v1/about", "get"): [client.get("/v1/about")],
        ("/v1/jobs", "post"): [job, client.post("/v1/jobs", json={"kind": "bake"})],
        ("/v1/rounds:weights", "post"): [
            client.post("/v1/rounds:weights", json=question)
            for question in (ROUND, ROUND | {"largest_piece": {"value": "2", "unit": "kg"}}, ROUND | {"sets": ["X"]}, {})
        ],
        ("/v1/keys", "post"): [key, person, client.post("/v1/keys", json={})],
        ("/v1/keys", "get"): [client.get("/v1/keys")],
        ("/v1/keys/{name}", "get"): [client.get(key.headers["Location"]), client.get("/v1/keys/x")],
        ("/v1/keys/{name}/revocation", "put"): [client.put(revocation, json=why), client.put(revocation, json=why)],
        ("/v1/jobs/{name}", "get"): [
            *(client.get(found.headers["Location"]) for found in (job, ended)), client.get("/v1/jobs/x")
        ],
        ("/v1/jobs/{name}/cancel", "post"): [cancelled, client.post("/v1/jobs/x/cancel")],
    }  # fmt: skip
    found |= imports_asked(client)
    found |= life_asked(client)
    found |= events_asked(client)
    found |= weights_asked(client) | labels_asked(client)
    found |= attachments_asked(client)
    found |= exports_asked(client)
    for kind in KINDS:
        found |= questions_of_kind(client, kind.collection)
    for calculation in CALCULATIONS:
        address = f"/v1/calculations/{calculation.name}"
        asked = [
            dict(calculation.example),
            {},
            dict(calculation.example) | {"colour": "blue"},
            *SPECIAL.get(calculation.name, ()),
        ]
        found[address, "post"] = [client.post(address, json=question) for question in asked]
    return found


def questions_of_kind(client: FlaskClient, collection: str) -> dict[tuple[str, str], list[TestResponse]]:
    listed = client.get(f"/v1/{collection}{ON}")
    key = KEYS[collection] or listed.json["items"][0]["key"]
    one = client.get(f"/v1/{collection}/{key}{ON}")
    asked = {"valid_from": TODAY.isoformat(), "record": one.json["record"]}
    address = f"/v1/{collection}/{key}"
    any_one, patch = JSON | {"If-Match": "*"}, {"Content-Type": "application/merge-patch+json", "If-Match": "*"}
    later = asked | {"valid_from": "2026-12-31"}
    put = [client.put(address, json=asked, headers=any_one), client.put(address, json=asked),
           client.put(f"/v1/{collection}/other", json=asked), client.put(address, json={}),
           client.put(address, json=later, headers=JSON | {"If-Match": '"77"'}),
           client.put(address, json=later)]  # fmt: skip
    assert [a.status_code for a in put] == [200, 200, 422, 422, 412, 428]
    patched = [
        client.patch(f"/v1/{collection}/{key}", data=data, headers=patch) for data in (b"{}", b'{"number": 7}', b"[]")
    ]
    patched.append(client.patch(f"/v1/{collection}/{key}", data=b"{}", headers=JSON))
    assert [a.status_code for a in patched] == [200, 422, 422, 415]
    return {
        (f"/v1/{collection}", "get"): [listed, client.get(f"/v1/{collection}?on=x")],
        (f"/v1/{collection}/{{key}}", "get"): [one, client.get(f"/v1/{collection}/nothing")],
        (f"/v1/{collection}/{{key}}", "put"): put,
        (f"/v1/{collection}/{{key}}", "patch"): patched,
        (f"/v1/{collection}/{{key}}/revisions", "get"): [client.get(f"/v1/{collection}/{key}/revisions")],
    }


def test_every_answer_fits_its_documented_schema(door: FlaskClient, contract: dict[str, Any]) -> None:
    answered = questions_of(door)

    assert set(answered) == operations(contract)
    for (path, method), answers in answered.items():
        assert any(a.status_code < 300 for a in answers), (path, method)
        for answer in answers:
            assert answer.status_code < 500
            assert_as_described(contract, path, method, answer)


@pytest.mark.parametrize("name", [path.stem for path in sorted(EXAMPLES.glob("*.json"))])
def test_every_example_fits_the_request_schema(contract: dict[str, Any], name: str) -> None:
    schema = request_schema(contract, "/v1/calibrations/{calibration_id}")

    assert faults_of(contract, schema, example(name)) == []


@pytest.mark.parametrize("calculation", CALCULATIONS, ids=lambda c: c.name)
def test_every_question_of_a_calculator_fits_its_request_schema(contract: dict[str, Any], calculation: Any) -> None:
    schema = request_schema(contract, f"/v1/calculations/{calculation.name}", "post")

    for question in (dict(calculation.example), *SPECIAL.get(calculation.name, ())):
        assert faults_of(contract, schema, question) == []
    assert faults_of(contract, schema, dict(calculation.example) | {"colour": "blue"}) != []


def test_the_request_schema_refuses_what_the_service_refuses(contract: dict[str, Any], door: FlaskClient) -> None:
    schema = request_schema(contract, "/v1/calibrations/{calibration_id}")
    number, pound, unknown, missing, null = (example() for _ in range(5))
    number["as_found"]["readings"][3]["indication"]["value"] = 2.0
    pound["as_found"]["readings"][3]["indication"]["unit"] = "lb"
    unknown["colour"] = "blue"
    del missing["device"]
    null["ward"] = None

    for wrong in (number, pound, unknown, missing, null):
        assert send(door, wrong).status_code == 422
        assert faults_of(contract, schema, wrong) != []


def probes(schema: dict[str, Any]) -> list[tuple[str, bool]]:
    """Values at the bounds of a query parameter and one step beyond them, and whether each is within."""
    if schema["type"] == "integer":
        least, most = schema["minimum"], schema["maximum"]
        return [(str(least), True), (str(most), True), (str(least - 1), False), (str(most + 1), False)]
    if schema.get("format") == "date":
        return [("2026-11-25", True), ("20261125", False)]
    if "enum" in schema:
        return [(schema["enum"][0], True), ("colour", False)]
    if schema.get("pattern", "").endswith("600}$"):  # a cursor
        return [("A" * 600, True), ("-_09azAZ", True), ("A" * 601, False), ("A=", False)]
    if "pattern" in schema:  # a reading with its unit
        return [("999999999.999999999 kg", True), ("-1 kg", False), ("70.5kg", False), ("70.5 lb", False)]
    least, most = schema["minLength"], schema["maxLength"]
    return [("Q" * least, True), ("Q" * most, True), ("Q" * (least - 1), False), ("Q" * (most + 1), False)]


def test_every_question_is_taken_within_the_bounds_of_the_contract_and_refused_beyond(
    contract: dict[str, Any], door: FlaskClient
) -> None:
    asked = [
        (path, parameter)
        for path, method in sorted(operations(contract))
        for parameter in contract["paths"][path][method].get("parameters", ())
        if method == "get" and parameter["in"] == "query"
    ]
    assert len(asked) > 50

    for path, parameter in asked:
        address = re.sub(r"{(calibration|event)_id}", an_id(), path)
        for value, within in probes(parameter["schema"]):
            answer = door.get(re.sub(r"{\w+}", "A-04", address), query_string={parameter["name"]: value})
            refused = answer.status_code == 400 and answer.json["code"] == "bad-question"
            assert refused is not within, (path, parameter["name"], value)


def test_every_operation_takes_the_questions_of_the_contract_and_no_other(
    contract: dict[str, Any], door: FlaskClient
) -> None:
    for path, method in operations(contract):
        if method != "get":
            continue
        described = [p["name"] for p in contract["paths"][path]["get"].get("parameters", ()) if p["in"] == "query"]
        address = re.sub(r"{\w+}", "A-04", re.sub(r"{(calibration|event)_id}", an_id(), path))
        (fault,) = door.get(f"{address}?colour=blue").json["errors"]
        assert fault["detail"] == f"Unknown parameter; accepted: {', '.join(described) or 'none'}."


def test_every_example_of_a_parameter_is_taken(contract: dict[str, Any], door: FlaskClient) -> None:
    asked = [
        (path, parameter["name"], value)
        for path, method in operations(contract)
        for parameter in contract["paths"][path][method].get("parameters", ())
        for value in parameter["schema"].get("examples", ())
    ]

    assert asked
    send(door, example(), an_id())
    for path, name, value in asked:
        answer = door.get(path.format(tag=example()["device"]), query_string={"on": TODAY.isoformat(), name: value})
        assert answer.status_code == 200, (path, name)


def lists_in(contract: dict[str, Any], schema: dict[str, Any]) -> list[dict[str, Any]]:
    """Every list that a schema describes, through its references."""
    if "$ref" in schema:
        return lists_in(contract, contract["components"]["schemas"][schema["$ref"].rsplit("/", 1)[1]])
    inner = [*schema.get("properties", {}).values(), *schema.get("oneOf", ()), *schema.get("anyOf", ())]
    if "items" in schema:
        inner.append(schema["items"])
    here = [schema] if schema.get("type") == "array" else []
    return here + [found for part in inner for found in lists_in(contract, part)]


def test_every_list_that_is_sent_has_a_longest_length(contract: dict[str, Any]) -> None:
    doors = [
        ("/v1/calibrations/{calibration_id}", "put"),
        ("/v1/weight-events/{event_id}", "put"),
        *((f"/v1/{kind.collection}/{{key}}", "put") for kind in KINDS),
    ]
    doors += [(f"/v1/calculations/{calculation.name}", "post") for calculation in CALCULATIONS]
    lists = [found for door in doors for found in lists_in(contract, request_schema(contract, *door))]

    assert len(lists) > 20
    assert [found for found in lists if "maxItems" not in found] == []


def test_every_register_record_of_the_network_fits_its_own_schema(contract: dict[str, Any], door: FlaskClient) -> None:
    for kind in KINDS:
        schema = request_schema(contract, f"/v1/{kind.collection}/{{key}}")
        for revision in door.get(f"/v1/{kind.collection}{ON}").json["items"]:
            change = {"valid_from": revision["valid_from"], "record": revision["record"]}
            assert faults_of(contract, schema, change) == [], revision["key"]


def test_every_problem_has_a_status_and_a_page_that_says_what_to_do() -> None:
    assert {problem.code for problem in PROBLEMS} == set(STATUS)
    assert all(re.fullmatch(r"[a-z-]+", problem.code) and problem.do for problem in PROBLEMS)
