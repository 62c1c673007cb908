"""The register over the web: create, read both ways in time, list, change, and what is refused."""

from dataclasses import replace
from typing import Any

import pytest
from flask.testing import FlaskClient

from api.metrology.policy import STARTING
from api.records.documents import document_of
from tests.doors import change
from tests.filled_record import TODAY

WARD = {
    "code": "QG-NEW", "site": "QG", "name": "New ward", "use_tier": "monitoring", "call_role": "charge nurse",
    "call_number": "5100",
}  # fmt: skip
ON = f"?on={TODAY.isoformat()}"


def a_ward(**changed: Any) -> dict[str, Any]:
    return WARD | changed


def log_number(client: FlaskClient) -> int:
    number: int = client.get("/v1/about").json["log_number"]
    return number


def test_what_is_new_is_created_as_revision_one(client: FlaskClient) -> None:
    answer = change(client, "wards/QG-NEW", "2024-10-01", WARD, Steelyard_By="T-02")

    assert answer.status_code == 201
    assert answer.headers["ETag"].startswith('"1-')
    said = answer.json
    assert (said["kind"], said["key"], said["number"], said["valid_from"]) == ("ward", "QG-NEW", 1, "2024-10-01")
    assert said["recorded_by"] == "T-02"
    assert said["record"].items() >= WARD.items()


def test_what_was_created_is_read_back_as_it_was_answered(client: FlaskClient) -> None:
    created = change(client, "wards/QG-NEW", "2024-10-01", WARD)

    read = client.get(f"/v1/wards/QG-NEW{ON}")

    assert (read.status_code, read.json) == (200, created.json)
    assert read.headers["ETag"] == created.headers["ETag"]


def test_a_change_is_a_new_revision_and_the_old_one_stays(client: FlaskClient) -> None:
    change(client, "wards/QG-NEW", "2024-10-01", WARD)

    answer = change(client, "wards/QG-NEW", "2025-03-01", a_ward(call_number="5200"))

    assert (answer.status_code, answer.json["number"], answer.headers["ETag"][:3]) == (200, 2, '"2-')
    chain = client.get("/v1/wards/QG-NEW/revisions").json["items"]
    assert [(r["number"], r["record"]["call_number"]) for r in chain] == [(1, "5100"), (2, "5200")]


def test_what_is_in_force_on_a_day_is_the_latest_that_has_begun(client: FlaskClient) -> None:
    change(client, "wards/QG-NEW", "2024-10-01", WARD)
    change(client, "wards/QG-NEW", "2025-03-01", a_ward(call_number="5200"))
    days = ("2024-10-01", "2025-02-28", "2025-03-01", "2026-11-25")

    read = [client.get(f"/v1/wards/QG-NEW?on={day}").json["record"]["call_number"] for day in days]

    assert read == ["5100", "5100", "5200", "5200"]


def test_before_its_first_day_it_is_not_on_the_register(client: FlaskClient) -> None:
    change(client, "wards/QG-NEW", "2024-10-01", WARD)

    read = client.get("/v1/wards/QG-NEW?on=2024-09-30")

    assert (read.status_code, read.json["code"]) == (404, "not-on-record")
    assert read.json["facts"] == {"kind": "ward", "key": "QG-NEW"}


def test_a_backdated_correction_rules_its_days_and_leaves_what_was_known_before(client: FlaskClient) -> None:
    change(client, "wards/QG-NEW", "2024-10-01", WARD)
    change(client, "wards/QG-NEW", "2025-03-01", a_ward(call_number="5200"))
    known = log_number(client)
    change(client, "wards/QG-NEW", "2024-12-01", a_ward(call_number="5150"))

    on = {day: client.get(f"/v1/wards/QG-NEW?on={day}").json["record"]["call_number"] for day in
          ("2024-11-30", "2024-12-01", "2025-02-28", "2025-03-01")}  # fmt: skip
    then = client.get(f"/v1/wards/QG-NEW?on=2024-12-01&known_at={known}").json["record"]["call_number"]

    assert on == {"2024-11-30": "5100", "2024-12-01": "5150", "2025-02-28": "5150", "2025-03-01": "5200"}
    assert then == "5100"


def test_of_two_revisions_from_the_same_day_the_later_one_holds(client: FlaskClient) -> None:
    change(client, "wards/QG-NEW", "2024-10-01", WARD)
    change(client, "wards/QG-NEW", "2024-10-01", a_ward(call_number="5300"))

    read = client.get(f"/v1/wards/QG-NEW{ON}")

    assert (read.json["number"], read.json["record"]["call_number"]) == (2, "5300")


def test_before_its_log_entry_nothing_was_known(client: FlaskClient) -> None:
    known = log_number(client)
    change(client, "wards/QG-NEW", "2024-10-01", WARD)

    assert client.get(f"/v1/wards/QG-NEW{ON}&known_at={known}").status_code == 404
    assert client.get(f"/v1/wards/QG-NEW{ON}&known_at={known + 1}").status_code == 200


def test_what_was_not_known_at_a_log_entry_is_refused_with_that_entry(client: FlaskClient) -> None:
    known = log_number(client)
    change(client, "wards/QG-NEW", "2024-10-01", WARD)

    said = client.get(f"/v1/wards/QG-NEW{ON}&known_at={known}").json["detail"]

    assert said == f"No ward 'QG-NEW' is on the register on {TODAY.isoformat()}, as known at log entry {known}."


def test_the_same_content_from_the_same_day_makes_no_revision_and_no_log_entry(client: FlaskClient) -> None:
    first = change(client, "wards/QG-NEW", "2024-10-01", WARD)
    entries = log_number(client)

    again = change(client, "wards/QG-NEW", "2024-10-01", dict(reversed(WARD.items())))

    assert (again.status_code, again.json) == (200, first.json)
    assert log_number(client) == entries


def test_a_change_against_the_newest_revision_is_taken(client: FlaskClient) -> None:
    tag = change(client, "wards/QG-NEW", "2024-10-01", WARD).headers["ETag"]

    answer = change(client, "wards/QG-NEW", "2025-03-01", a_ward(call_number="5200"), If_Match=tag)

    assert (answer.status_code, answer.json["number"]) == (200, 2)


def test_a_change_against_another_revision_is_refused_and_nothing_changes(client: FlaskClient) -> None:
    change(client, "wards/QG-NEW", "2024-10-01", WARD)
    change(client, "wards/QG-NEW", "2025-03-01", a_ward(call_number="5200"))
    entries = log_number(client)

    for tag in ('"1"', '"3"', 'W/"2"', "abc", "²", '"²"', "9" * 5000, '"3", "1"', "", '"02"', '"2-x"'):
        answer = change(client, "wards/QG-NEW", "2025-06-01", a_ward(call_number="5300"), If_Match=tag)
        assert (answer.status_code, answer.json["code"]) == (412, "revision-differs"), tag

    assert log_number(client) == entries


def test_a_star_asks_for_whatever_is_there(client: FlaskClient) -> None:
    """RFC 9110 section 13.1.1: If-Match with a star is false where the resource has no current representation."""
    absent = change(client, "wards/QG-NEW", "2024-10-01", WARD, If_Match="*")
    change(client, "wards/QG-NEW", "2024-10-01", WARD)
    present = change(client, "wards/QG-NEW", "2025-03-01", a_ward(call_number="5200"), If_Match="*")

    assert (absent.status_code, present.status_code) == (412, 200)


def test_what_is_asked_as_a_change_of_something_absent_is_refused(client: FlaskClient) -> None:
    answer = change(client, "wards/QG-NEW", "2024-10-01", WARD, If_Match='"1"')

    assert answer.status_code == 412
    assert "not on the register yet" in answer.json["detail"]


def test_a_code_that_folds_to_a_taken_address_is_refused_for_good(client: FlaskClient) -> None:
    change(client, "wards/QG-NEW", "2024-10-01", WARD)

    for code in ("qg-new", "QG NEW", "QG.NEW", "QG_new"):
        answer = change(client, f"wards/{code}", "2024-10-01", a_ward(code=code))
        assert (answer.status_code, answer.json["code"]) == (409, "address-taken")
        assert answer.json["facts"] == {"address": "w/qg-new/", "holder": "QG-NEW"}
        assert client.get(f"/v1/wards/{code}{ON}").status_code == 404


def test_kinds_without_labels_share_no_addresses(client: FlaskClient) -> None:
    taken = client.get(f"/v1/weights/FS1-10{ON}").json["record"]

    answer = change(client, "weights/fs1-10", "2024-10-01", taken | {"code": "fs1-10"})

    assert answer.status_code == 201


def test_the_key_of_the_address_is_the_key_of_the_record(client: FlaskClient) -> None:
    answer = change(client, "wards/QG-OTHER", "2024-10-01", WARD)

    assert (answer.status_code, answer.json["code"]) == (422, "key-differs")
    assert client.get(f"/v1/wards/QG-OTHER{ON}").status_code == 404


def test_a_list_holds_what_is_in_force_that_day_by_key(client: FlaskClient) -> None:
    before = client.get(f"/v1/wards{ON}").json["items"]
    change(client, "wards/QG-NEW", "2026-11-26", WARD)

    today = client.get(f"/v1/wards{ON}").json["items"]
    tomorrow = client.get("/v1/wards?on=2026-11-26").json["items"]

    assert today == before
    assert [r["key"] for r in tomorrow] == sorted([r["key"] for r in before] + ["QG-NEW"])


def test_a_list_of_one_site_holds_only_that_site(client: FlaskClient) -> None:
    everything = client.get(f"/v1/devices{ON}").json["items"]

    listed = client.get(f"/v1/devices{ON}&site=HM").json["items"]

    assert [r["key"] for r in listed] == [r["key"] for r in everything if r["record"]["site"] == "HM"]
    assert 0 < len(listed) < len(everything)


def test_a_record_with_faults_is_refused_with_all_of_them(client: FlaskClient) -> None:
    wrong = {
        k: v for k, v in a_ward(use_tier="sometimes", colour="blue", weighings_per_day="12").items() if k != "name"
    }

    answer = change(client, "wards/QG-NEW", "2024-10-32", wrong)

    assert answer.status_code == 422
    assert {(e["pointer"], e["code"]) for e in answer.json["errors"]} == {
        ("#/valid_from", "value-not-accepted"), ("#/record/use_tier", "value-not-accepted"),
        ("#/record/colour", "field-unknown"), ("#/record/weighings_per_day", "value-not-accepted"),
        ("#/record", "field-missing"),
    }  # fmt: skip


def test_a_model_in_two_units_keeps_a_capacity_for_each_with_every_written_zero(client: FlaskClient) -> None:
    """600 lb is not 300 kg: each unit has its own Max and d (the dual-unit scale of the worked examples)."""
    model = client.get(f"/v1/models/DUO-300{ON}").json["record"]

    tops = {(r["max"]["value"], r["max"]["unit"], r["d"]["value"]) for r in model["ranges"]}

    assert {("300", "kg", "0.1"), ("600", "[lb_av]", "0.2")} <= tops


def test_unknown_questions_are_refused_by_name(client: FlaskClient) -> None:
    answer = client.get("/v1/wards?on=20261125&known_at=x&colour=blue&site=QG&site=HM")

    assert (answer.status_code, answer.json["code"]) == (400, "bad-question")
    assert [e["parameter"] for e in answer.json["errors"]] == ["on", "known_at", "colour", "site"]


def test_the_etag_names_the_newest_revision_so_that_a_change_after_a_backdated_one_can_be_made(
    client: FlaskClient,
) -> None:
    change(client, "wards/QG-NEW", "2025-06-01", WARD)
    change(client, "wards/QG-NEW", "2025-01-01", a_ward(name="Earlier name"))

    read = client.get(f"/v1/wards/QG-NEW{ON}")
    later = {"valid_from": "2026-08-01", "record": a_ward(name="Later name")}
    changed = client.put("/v1/wards/QG-NEW", json=later, headers={"If-Match": read.headers["ETag"]})

    assert (read.json["number"], read.headers["ETag"][:3]) == (1, '"2-')
    assert changed.status_code == 200


def test_a_house_rule_may_hold_by_load_but_not_for_no_load(client: FlaskClient) -> None:
    def rule(up_to: str) -> dict[str, Any]:
        bounds = {"above": {"value": "10", "unit": "kg"}, "up_to": {"value": up_to, "unit": "kg"}}
        return {"code": "H-LOADS", "terms": [{"percent": "0.5", **bounds}], "source": "ward agreement"}

    empty = change(client, "house-rules/H-LOADS", "2024-10-01", rule("10"))
    sound = change(client, "house-rules/H-LOADS", "2024-10-01", rule("10.1"))

    assert (empty.status_code, sound.status_code) == (422, 201)
    assert "the term would hold for no load" in empty.get_data(as_text=True)


@pytest.mark.parametrize(
    ("rule", "band", "said"),
    [
        ("guarded acceptance", {"r": "1", "risk": "0.05"}, "exactly one of r and risk"),
        ("four zones", {}, "exactly one of r and risk"),
        ("simple acceptance", {"r": "1"}, "has no guard band"),
        ("guarded acceptance", {"r": "0.83"}, None),
    ],
)
def test_a_policy_says_the_width_of_its_guard_band_once(
    client: FlaskClient, rule: str, band: dict[str, str], said: str | None
) -> None:
    policy = document_of(replace(STARTING, code="GUARD", decision_rule=rule)) | {"guard_band": band}

    answer = change(client, "policies/GUARD", "2024-10-01", policy)

    assert answer.status_code == (422 if said else 201)
    assert said is None or said in answer.get_data(as_text=True)


@pytest.mark.parametrize(("of", "status"), [("prior", 201), ("drift_factor", 422)])
def test_a_prior_names_its_source(client: FlaskClient, of: str, status: int) -> None:
    prior = {"mean": "0", "standard_deviation": "0.5", "counted_in": "tolerance"}
    sources = [{"of": of, "source": "errors found by the owner over four years"}]
    policy = document_of(replace(STARTING, code="PRIOR")) | {"prior": prior, "sources": sources}

    answer = client.put("/v1/policies/PRIOR", json={"valid_from": "2026-01-01", "record": policy})

    assert answer.status_code == status, answer.json
    if status == 422:
        assert [e["pointer"] for e in answer.json["errors"]] == ["#/record/prior"]
    else:
        assert answer.json["record"]["prior"] == prior
