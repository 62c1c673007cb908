"""What a change was made against, and what a reader has already. RFC 9110 section 13, RFC 6585 section 3 (428), RFC 5789
(PATCH), RFC 7396 (merge patch)."""

import json
from typing import Any

import pytest
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from api.records.register import KINDS
from tests.doors import an_id, ask_change, example, resolved, send
from tests.filled_record import TODAY
from tests.routes.asked_of_routes import ON_REGISTER

WARD = {
    "code": "QG-NEW", "site": "QG", "name": "New ward", "use_tier": "monitoring", "call_role": "charge nurse",
    "call_number": "5100", "weighings_per_day": 12,
}  # fmt: skip
ON = f"?on={TODAY.isoformat()}"
PATCH = {"Content-Type": "application/merge-patch+json"}


def a_ward(**changed: Any) -> dict[str, Any]:
    return WARD | changed


def put(client: FlaskClient, record: Any = WARD, valid_from: str = "2024-10-01", **headers: str) -> TestResponse:
    return ask_change(client, "wards/QG-NEW", valid_from, record, **headers)


def patched(client: FlaskClient, patch: Any, address: str = "wards/QG-NEW", **headers: str) -> TestResponse:
    told = {name.replace("_", "-"): value for name, value in headers.items()}
    return client.patch(f"/v1/{address}", data=json.dumps(patch), headers=PATCH | told)


def revisions(client: FlaskClient, address: str = "wards/QG-NEW") -> int:
    return len(client.get(f"/v1/{address}/revisions").json["items"])


def test_what_is_there_is_not_changed_by_who_does_not_say_what_they_saw(client: FlaskClient) -> None:
    put(client)

    answer = put(client, a_ward(name="Other"))

    assert (answer.status_code, answer.json["code"]) == (428, "precondition-required")
    assert answer.headers["ETag"] == '"1"'
    assert revisions(client) == 1


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.name)
def test_every_kind_of_the_register_asks_for_it(door: FlaskClient, kind: Any) -> None:
    """RFC 6585 section 3."""
    key = door.get(f"/v1/{kind.collection}{ON}").json["items"][0]["key"]
    one = door.get(f"/v1/{kind.collection}/{key}{ON}")
    body = {"valid_from": "2026-12-31", "record": one.json["record"]}

    unsaid = door.put(f"/v1/{kind.collection}/{key}", json=body)
    unsaid_patch = patched(door, {"valid_from": "2026-12-31"}, f"{kind.collection}/{key}")
    stale = door.put(f"/v1/{kind.collection}/{key}", json=body, headers={"If-Match": '"999"'})
    right = door.put(f"/v1/{kind.collection}/{key}", json=body, headers={"If-Match": one.headers["ETag"]})

    assert [a.status_code for a in (unsaid, unsaid_patch, stale, right)] == [428, 428, 412, 200]
    assert kind.collection in ON_REGISTER


def test_a_change_against_the_tag_of_another_revision_is_told_the_newest_one(client: FlaskClient) -> None:
    first = put(client).headers["ETag"]
    put(client, a_ward(name="Second"), If_Match=first)

    answer = put(client, a_ward(name="Third"), If_Match=first)

    assert (answer.status_code, answer.json["code"]) == (412, "revision-differs")
    assert answer.json["facts"] == {"key": "QG-NEW", "newest": "2"}
    assert put(client, a_ward(name="Third"), If_Match=answer.headers["ETag"]).status_code == 200


def test_any_of_several_tags_will_do_and_a_weak_one_will_not(client: FlaskClient) -> None:
    """RFC 9110 sections 13.1.1 and 8.8.3.2: If-Match compares strongly."""
    tag = put(client).headers["ETag"]

    assert put(client, a_ward(name="A"), If_Match=f"W/{tag}").status_code == 412
    assert put(client, a_ward(name="A"), If_Match=f'"7", {tag}').status_code == 200


def test_what_is_asked_as_new_is_refused_where_there_is_one(client: FlaskClient) -> None:
    """RFC 9110 section 13.1.2: If-None-Match with a star is false where there is a current representation."""
    first, again = put(client, If_None_Match="*"), put(client, If_None_Match="*")

    assert (first.status_code, again.status_code, again.json["code"]) == (201, 412, "revision-differs")
    assert again.headers["ETag"] == '"1"'
    assert "as something new" in again.json["detail"]


def test_a_change_that_was_made_already_is_answered_as_made(client: FlaskClient) -> None:
    """RFC 9110 section 13.1.1: the answer was lost, the change was not; sent again, it is answered with 2xx."""
    tag = put(client).headers["ETag"]
    changed = put(client, a_ward(name="Second"), If_Match=tag)

    again = put(client, a_ward(name="Second"), If_Match=tag)
    created_again = ask_change(client, "wards/QG-NEW", "2024-10-01", a_ward(name="Second"))

    assert (again.status_code, again.json) == (200, changed.json)
    assert created_again.status_code == 200
    assert revisions(client) == 2


def test_both_fields_at_once_are_never_true(client: FlaskClient) -> None:
    assert put(client, If_None_Match="*", If_Match="*").status_code == 412


def test_what_is_refused_anyhow_is_refused_for_that(client: FlaskClient) -> None:
    """RFC 9110 section 13.2.1: preconditions are ignored where the answer would be no success without them."""
    put(client)

    for stale in ({"If_Match": '"9"'}, {}):
        assert put(client, a_ward(site="NOWHERE"), **stale).json["code"] == "reference-missing"
        assert put(client, a_ward(code="OTHER"), **stale).json["code"] == "key-differs"
        assert put(client, a_ward(name=7), **stale).json["code"] == "wrong-shape"
        assert patched(client, {}, "wards/NOTHING", **stale).json["code"] == "not-on-record"
    taken = ask_change(client, "wards/qg-new", "2024-10-01", a_ward(code="qg-new"), If_Match='"9"')
    assert taken.json["code"] == "address-taken"


def test_a_patch_changes_what_it_names_from_today_on_and_nothing_else(client: FlaskClient) -> None:
    tag = put(client).headers["ETag"]
    today = client.get("/v1/wards/QG-NEW").json["record"]

    answer = patched(client, {"record": {"call_number": "5300", "weighings_per_day": None}}, If_Match=tag)

    said = answer.json
    assert (answer.status_code, said["number"]) == (200, 2)
    assert said["record"] == {n: v for n, v in today.items() if n != "weighings_per_day"} | {"call_number": "5300"}
    assert said["valid_from"] > "2024-10-01"
    assert client.get("/v1/wards/QG-NEW?on=2024-10-01").json["record"]["call_number"] == "5100"


def test_a_patch_from_a_day_changes_what_holds_on_that_day(client: FlaskClient) -> None:
    put(client)
    put(client, a_ward(name="From March"), "2025-03-01", If_Match="*")

    answer = patched(client, {"valid_from": "2025-01-01", "record": {"call_number": "5300"}}, If_Match='"2"')

    assert (answer.json["valid_from"], answer.json["record"]["name"]) == ("2025-01-01", "New ward")
    assert client.get("/v1/wards/QG-NEW?on=2025-04-01").json["record"] == a_ward(name="From March") | {
        "magnet_zone": False, "infection_flag": False
    }  # fmt: skip


def test_a_patch_that_changes_nothing_makes_no_revision(client: FlaskClient) -> None:
    put(client)

    for nothing in ({}, {"record": {}}, {"record": {"name": "New ward"}}):
        answer = patched(client, nothing, If_Match="*")
        assert (answer.status_code, answer.json["number"], answer.json["valid_from"]) == (200, 1, "2024-10-01")
    assert revisions(client) == 1


def test_what_a_patch_makes_is_judged_as_any_record_and_its_faults_point_into_the_patch(client: FlaskClient) -> None:
    put(client)

    for patch, code in [
        ({"record": {"call_number": 7}}, "value-not-accepted"), ({"record": {"name": None}}, "field-missing"),
        ({"record": {"colour": "blue"}}, "field-unknown"), ({"number": 7}, "field-unknown"),
        ({"valid_from": "today"}, "value-not-accepted"), ({"valid_from": None}, "field-missing"),
        ({"record": None}, "field-missing"), ({"record": []}, "value-not-accepted"), ([], "value-not-accepted"),
        ({"record": {"clinical_limit": {"percent": "200"}}}, "value-not-accepted"),
    ]:  # fmt: skip
        answer = patched(client, patch, If_Match="*")
        assert (answer.status_code, answer.json["code"]) == (422, "wrong-shape"), patch
        for fault in answer.json["errors"]:
            assert fault["code"] == code, (patch, fault)
            resolved(patch, fault["pointer"])
    refused = {"key-differs": {"record": {"code": "OTHER"}}, "reference-missing": {"record": {"site": "NOWHERE"}}}
    for code, patch in refused.items():
        assert patched(client, patch, If_Match="*").json["code"] == code
    assert revisions(client) == 1


def test_a_list_in_a_patch_takes_the_place_of_the_whole_list(client: FlaskClient) -> None:
    members = client.get(f"/v1/weight-sets/FS-1{ON}").json["record"]["members"]

    patched(client, {"record": {"members": members[:2]}}, "weight-sets/FS-1", If_Match="*")

    assert client.get("/v1/weight-sets/FS-1").json["record"]["members"] == members[:2]


@pytest.mark.parametrize("media_type", ["application/json", "application/json-patch+json", "text/plain", None])
def test_a_patch_of_another_type_is_told_which_is_taken(client: FlaskClient, media_type: str | None) -> None:
    """RFC 5789 section 2.2: 415 with Accept-Patch."""
    answer = client.patch("/v1/wards/QG-CDU", data=b"{}", headers={"Content-Type": media_type} if media_type else {})

    assert (answer.status_code, answer.json["code"]) == (415, "not-acceptable-type")
    assert answer.headers["Accept-Patch"] == "application/merge-patch+json"
    assert client.get("/v1/wards/QG-CDU").headers["Accept-Patch"] == "application/merge-patch+json"


def test_a_whole_record_is_not_taken_as_a_patch_nor_a_patch_as_a_whole_record(client: FlaskClient) -> None:
    body = json.dumps({"valid_from": "2026-01-01", "record": WARD})

    assert client.put("/v1/wards/QG-NEW", data=body, headers=PATCH).status_code == 415


READ = ("/v1/wards/QG-CDU", "/v1/certificates/{certificate}", "/v1/calibrations/{calibration}")


@pytest.fixture
def read(client: FlaskClient) -> list[str]:
    receipt = send(client, example(), an_id()).json
    return [address.format(**receipt) for address in READ]


def test_a_reader_who_has_it_is_told_so_without_the_body(client: FlaskClient, read: list[str]) -> None:
    """RFC 9110 sections 13.1.2 and 15.4.5: weakly compared, with the fields that a cache needs."""
    for address in read:
        first = client.get(address)
        tag = first.headers["ETag"]
        for said in (tag, f"W/{tag}", f'"x", {tag}', "*"):
            again = client.get(address, headers={"If-None-Match": said})
            assert (again.status_code, again.data, again.headers["ETag"]) == (304, b"", tag), (address, said)
        other = client.get(address, headers={"If-None-Match": '"1"'})
        assert (other.status_code, other.data) == (200, first.data)
        assert first.headers["Cache-Control"] == "private, no-cache"


def test_a_head_has_the_fields_of_a_get_and_no_body(client: FlaskClient, read: list[str]) -> None:
    for address in read:
        got, head = client.get(address), client.head(address)
        same = ("ETag", "Content-Type", "Content-Length")
        assert (head.status_code, head.data) == (200, b"")
        assert [head.headers[name] for name in same] == [got.headers[name] for name in same]
        assert client.head(address, headers={"If-None-Match": got.headers["ETag"]}).status_code == 304


def test_a_tag_changes_with_whatever_is_told_and_a_change_is_still_taken_against_it(client: FlaskClient) -> None:
    put(client)
    put(client, a_ward(name="Later"), "2099-01-01", If_Match="*")

    now, later = client.get(f"/v1/wards/QG-NEW{ON}"), client.get("/v1/wards/QG-NEW?on=2099-01-01")

    assert now.headers["ETag"] != later.headers["ETag"]
    assert later.headers["ETag"].startswith('"2-')
    assert client.get(f"/v1/wards/QG-NEW{ON}", headers={"If-None-Match": later.headers["ETag"]}).status_code == 200
    assert put(client, a_ward(name="Third"), If_Match=now.headers["ETag"]).status_code == 200
