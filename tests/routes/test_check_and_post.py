"""Two more doors to the same judgement: one that keeps nothing, and one that takes the id from the body."""

import json

import pytest
from flask.testing import FlaskClient

from api.settings import Settings
from tests.doors import JSON, an_id, example, example_bytes, reading_of, send
from tests.filled_record import rows


@pytest.mark.parametrize(
    "name", ["calibration-pass", "calibration-fail-adjusted", "calibration-dual-unit", "calibration-not-tested"]
)
def test_what_is_checked_is_what_would_be_kept(client: FlaskClient, settings: Settings, name: str) -> None:
    before = rows(settings)

    checked = client.post("/v1/calibrations:check", data=example_bytes(name), headers=JSON)

    assert (checked.status_code, rows(settings)) == (200, before)
    kept = send(client, example_bytes(name))
    read = client.get(kept.headers["Location"]).json
    for told in ("site", "device", "standing", "as_found", "as_left", "flags", "notes", "working"):
        assert checked.json.get(told) == read.get(told), told


def test_what_would_be_flagged_is_told_before_it_is_sent(door: FlaskClient) -> None:
    body = example() | {"device_revision": 7}
    reading_of(body, "increasing", load="100")["indication"]["value"] = "99.95"

    checked = door.post("/v1/calibrations:check", json=body, headers={"Steelyard-Sent-At": "2026-11-25T11:00:00Z"}).json

    assert {flag["code"] for flag in checked["flags"]} == {"stale-definition", "off-grid", "clock-off"}
    assert checked["standing"] == "provisional"


def test_a_newer_schema_cannot_be_checked(door: FlaskClient) -> None:
    answer = door.post("/v1/calibrations:check", json=example() | {"schema": "calibration/2"})

    assert (answer.status_code, answer.json["errors"][0]["pointer"]) == (422, "#/schema")


def test_an_id_in_the_body_is_the_address_said_again(client: FlaskClient) -> None:
    calibration = an_id()
    posted = client.post("/v1/calibrations", json=example() | {"id": calibration.upper()})

    put = send(client, example(), calibration)

    assert (posted.status_code, posted.headers["Location"]) == (201, f"/v1/calibrations/{calibration}?site=QG")
    assert (put.status_code, put.json["replayed"], put.json["digest"]) == (200, True, posted.json["digest"])
    read = client.get(posted.headers["Location"]).json
    assert read["content"] == example() | {"id": calibration.upper()}


def test_an_id_in_the_body_that_is_another_than_the_addresss_is_refused(door: FlaskClient) -> None:
    answer = send(door, example() | {"id": an_id()})

    assert (answer.status_code, answer.json["code"]) == (422, "key-differs")


def test_without_an_id_every_fault_is_told_and_the_missing_id_too(door: FlaskClient) -> None:
    answer = door.post("/v1/calibrations", json=example() | {"purpose": "for fun"})
    wrong = door.post("/v1/calibrations", json=example() | {"id": "visit 7"})

    told = [(fault["pointer"], fault["detail"][:11]) for fault in answer.json["errors"]]
    assert (answer.status_code, sorted(told)) == (422, [("#", "id: Missing"), ("#/purpose", "Found 'for ")])
    assert [fault["pointer"] for fault in wrong.json["errors"]] == ["#/id"]


def test_other_content_under_an_id_is_refused_at_both_doors(client: FlaskClient) -> None:
    calibration = an_id()
    send(client, example(), calibration)

    answer = client.post("/v1/calibrations", data=json.dumps(example() | {"id": calibration, "purpose": "audit"}),
                         headers=JSON)  # fmt: skip

    assert (answer.status_code, answer.json["pointers"]) == (409, ["#/purpose"])
