"""Operations have names, links lead somewhere, every example is taken. OpenAPI 3.1 sections 4.8.10 and 4.8.20."""

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient

from api.cli.contract import contract_text
from api.records.register import KINDS
from api.routes.labels import STUCK_AS
from tests.doors import JSON, an_id
from tests.imports.importing import A_PROFILE
from tests.weights_told import COMPARED

PASSING = Path(__file__).parents[2] / "openapi" / "examples" / "calibration-pass.json"
METHODS = ("get", "put", "post", "delete", "patch")
CONTRACT: dict[str, Any] = json.loads(contract_text())
KEY_OF = {kind.collection: kind.key_field for kind in KINDS}


@pytest.fixture
def template(registered: str) -> str:
    return registered


def operations() -> Iterator[tuple[str, str, dict[str, Any]]]:
    for path, methods in CONTRACT["paths"].items():
        yield from ((path, method, methods[method]) for method in methods if method in METHODS)


def body_of(operation: dict[str, Any]) -> dict[str, Any]:
    found: dict[str, Any] = operation.get("requestBody", {}).get("content", {}).get("application/json", {})
    return found


EXAMPLES = [(path, method) for path, method, operation in operations() if "example" in body_of(operation)]


def test_every_operation_has_a_name_of_its_own_that_can_be_a_function() -> None:
    names = [operation["operationId"] for _, _, operation in operations()]

    assert len(set(names)) == len(names)
    assert [name for name in names if not re.fullmatch(r"[a-z][a-z0-9_]+", name)] == []


def test_every_operation_that_takes_a_json_body_shows_one() -> None:
    silent = [f"{m.upper()} {p}" for p, m, operation in operations() if body_of(operation) and (p, m) not in EXAMPLES]

    assert silent == []


@pytest.mark.parametrize(("path", "method"), EXAMPLES)
def test_every_example_of_the_contract_is_taken(client: FlaskClient, path: str, method: str) -> None:
    body = body_of(CONTRACT["paths"][path][method])["example"]

    by = JSON | {"Steelyard-By": "S-01"}
    asked = {"path": address(path, body, client), "method": method.upper(), "data": json.dumps(body)}
    answer = client.open(**asked, headers=by)
    if answer.status_code == 428:  # it is there already: the example is a change of it
        answer = client.open(**asked, headers=by | {"If-Match": "*"})

    # A file that was not read yet is not undone yet; and the example's visit names a scale that is known.
    not_yet = ("{import_id}" in path or path.endswith("/links")) and answer.status_code == 409
    assert not_yet or answer.status_code in (200, 201, 202, 207), answer.get_data(as_text=True)


def address(path: str, body: Any, client: FlaskClient) -> str:
    """The address of an example; what it names is made first, as its own example says."""
    if "{name}" in path:
        collection = path.partition("/{name}")[0]
        made = client.post(collection, json=body_of(CONTRACT["paths"][collection]["post"])["example"])
        return path.replace("{name}", made.headers["Location"].rpartition("/")[2])
    if "{import_id}" in path:
        profile = {"valid_from": "2026-01-01", "record": A_PROFILE}
        assert client.put("/v1/import-profiles/old-system", json=profile).status_code == 201
        made = client.post("/v1/imports?profile=old-system", data=b"Tag;Day\n", headers={"Content-Type": "text/csv"})
        return path.replace("{import_id}", made.json["file_import"])
    if path.endswith("/close"):
        report = body_of(CONTRACT["paths"]["/v1/reports/{event_id}"]["put"])["example"]
        made = client.put(f"/v1/reports/{an_id()}", json=report)
        return path.replace("{event_id}", made.json["event"])
    if "{tag}" in path:
        return path.replace("{tag}", body.get("device", "A-04"))
    if "{key}" in path:
        return path.replace("{key}", body["record"][KEY_OF[path.split("/")[2]]])
    calibration = an_id()
    if "{calibration_id}/" in path:
        visit = body_of(CONTRACT["paths"]["/v1/calibrations/{calibration_id}"]["put"])["example"]
        # The other one is there first.
        for one in (*([body["of"]] if path.endswith("/duplicate") else []), calibration):
            assert client.put(f"/v1/calibrations/{one}", data=json.dumps(visit), headers=JSON).status_code == 201
    if "{label_id}" in path:
        if "{event_id}" in path:
            stuck = body_of(CONTRACT["paths"]["/v1/labels/{label_id}"]["put"])["example"]
            assert client.put(f"/v1/labels/{STUCK_AS}", json=stuck).status_code == 201
        path = path.replace("{label_id}", STUCK_AS)
    if "weight-releases" in path:
        hold_and_compare(client, body)
    return re.sub(r"\{[a-z_]*id\}", calibration, path)


def hold_and_compare(client: FlaskClient, release: Any) -> None:
    """Have a piece dropped, then compared: what a release lifts, and what it rests on."""
    dropped = {"schema": "weight-event/1", "kind": "dropped", "site": "QG", "happened_at": "2026-11-24T13:00:00-07:00",
               "pieces": [release["piece"]], "by": "T-01"}  # fmt: skip
    compared = COMPARED | {"piece": release["piece"], "happened_at": "2026-11-24T14:00:00-07:00"}
    for body, event in ((dropped, an_id()), (compared, release["comparison"])):
        answer = client.put(f"/v1/weight-events/{event}", data=json.dumps(body), headers=JSON)
        assert answer.status_code == 201, answer.get_data(as_text=True)


def test_every_link_leads_to_an_operation_and_names_its_parameters() -> None:
    named = {operation["operationId"]: (path, operation) for path, _, operation in operations()}
    links = [
        link
        for _, _, operation in operations()
        for answer in operation["responses"].values()
        for link in answer.get("links", {}).values()
    ]

    assert len(links) >= 5
    for link in links:
        path, operation = named[link["operationId"]]
        asked = {p["name"] for p in operation.get("parameters", ())} | set(re.findall(r"\{([a-z_]+)\}", path))
        assert set(link["parameters"]) <= asked, link


def test_a_link_of_a_receipt_leads_to_what_was_kept(client: FlaskClient) -> None:
    path = "/v1/calibrations/{calibration_id}"
    put = CONTRACT["paths"][path]["put"]
    receipt = client.put(address(path, {}, client), data=json.dumps(body_of(put)["example"]), headers=JSON).json
    link = put["responses"]["201"]["links"]["as-it-is-kept"]
    values = {name: receipt[source.removeprefix("$response.body#/")] for name, source in link["parameters"].items()}

    kept = client.get(f"/v1/calibrations/{values['calibration_id']}?site={values['site']}").json

    assert (kept["calibration"], kept["content"]) == (receipt["calibration"], body_of(put)["example"])


TAGGED = [path for path, _, operation in operations() if "304" in operation["responses"]]


@pytest.mark.parametrize("path", TAGGED)
def test_a_read_that_promises_a_tag_answers_304_to_who_has_it(client: FlaskClient, registered: str, path: str) -> None:
    address = what_is_there(path, client)

    first = client.get(address)
    again = client.get(address, headers={"If-None-Match": first.headers.get("ETag", "")})

    assert (first.status_code, again.status_code, again.get_data()) == (200, 304, b"")


def what_is_there(path: str, client: FlaskClient) -> str:
    """An address of that path which leads to something; it is put there first where it is not."""
    if path.endswith("/{key}"):
        collection = path.removesuffix("/{key}")
        if not client.get(collection).json["items"]:
            client.put(f"{collection}/ours", json=body_of(CONTRACT["paths"][path]["put"])["example"])
        return f"{collection}/{client.get(collection).json['items'][0]['key']}"
    sent = an_id()
    receipt = client.put(f"/v1/calibrations/{sent}", json=json.loads(PASSING.read_text())).json
    named = {"calibration_id": sent, "certificate_number": receipt.get("certificate", "")}
    return path.format(**named) + ("?site=QG" if path == "/v1/bundle" else "")
