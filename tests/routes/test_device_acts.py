"""What a person tells of a device: moves, states, limits, repairs, each an event and, where it holds, a revision."""

from typing import Any

import pytest
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from api.routes.event_examples import LIMIT, MOVE, REPAIR, REPORT, STATE
from tests.doors import an_id, change, example, send
from tests.lives import a_visit, kept, release

DEVICE = "A-04"
ACTS = {"moves": MOVE, "states": STATE, "limits": LIMIT, "repairs": REPAIR}
LATER = "2026-11-24T23:00:00-07:00"
SHORTLY_AFTER = "2026-11-24T23:30:00-07:00"
BY = {"Steelyard-By": "S-01"}


def tell(client: FlaskClient, what: str, tag: str = DEVICE, **told: Any) -> TestResponse:
    """Tell something of a device like the example's, under an id of its own, after the visit of the example."""
    body = ACTS[what] | {"id": an_id(), "happened_at": LATER} | told
    return client.post(f"/v1/devices/{tag}/{what}", json=body, headers=BY)


def device(client: FlaskClient, on: str = "2026-11-25") -> dict[str, Any]:
    found: dict[str, Any] = client.get(f"/v1/devices/{DEVICE}?on={on}").json["record"]
    return found


def use(client: FlaskClient) -> dict[str, Any]:
    found: dict[str, Any] = client.get(f"/v1/devices/{DEVICE}/use?on=2026-11-25").json
    return found


def codes(client: FlaskClient) -> set[str]:
    return {why["code"] for why in use(client)["why"]}


def a_later_calibration() -> dict[str, Any]:
    return example() | {"performed": {"start": "2026-11-25T02:00:00-07:00", "end": "2026-11-25T02:40:00-07:00"}}


def entries(client: FlaskClient) -> int:
    found: int = client.get("/v1/about").json["log_number"]
    return found


def test_a_move_is_a_revision_and_an_event_in_one_entry_of_the_log(client: FlaskClient) -> None:
    before = entries(client)

    answer = tell(client, "moves")

    assert answer.status_code == 201, answer.json
    assert entries(client) == before + 1
    entry = client.get(f"/v1/changes?after={before}").json["items"][0]
    touched = {(item["kind"], item["key"]) for item in entry["touched"]}
    assert {("device event", f"QG/{answer.json['event']}"), ("device", DEVICE), ("ward", "QG-ED")} <= touched
    assert (entry["kind"], entry["by_whom"]) == ("device moved", "S-01")
    found = device(client)
    assert (found["ward"], found["place"], found["in_place_since"]) == ("QG-ED", "triage, bay 2", "2026-11-24")


def test_a_moved_scale_is_not_to_be_used_before_it_is_calibrated_there(client: FlaskClient) -> None:
    send(client, example())
    tell(client, "moves")

    moved = [why["sentence"] for why in use(client)["why"] if why["code"] == "moved"]

    assert use(client)["may"] == "not proven"
    assert moved == ["It was moved on 24 November 2026, after it was last calibrated, to QG, QG-ED, triage, bay 2."]
    send(client, a_later_calibration() | {"ward": "QG-ED"})
    assert use(client)["may"] == "may use"


def test_a_calibration_at_the_former_site_does_not_prove_a_moved_scale(client: FlaskClient) -> None:
    tell(client, "moves", site="HM", ward="HM-MED", place="bay 1")

    calibration = a_visit(client, a_later_calibration())
    assert [flag["code"] for flag in kept(client, calibration)["flags"]] == ["site-differs"]
    release(client, calibration)

    assert kept(client, calibration)["standing"] == "released"
    assert "moved" in codes(client)


def test_a_move_on_the_day_of_the_last_calibration_and_after_it_counts(client: FlaskClient) -> None:
    send(client, example())

    tell(client, "moves", happened_at="2026-11-24T10:40:00-07:00")

    assert "moved" in codes(client)


def test_a_move_that_a_person_closed_in_words_holds_nothing_up(client: FlaskClient) -> None:
    send(client, example())
    event = tell(client, "moves").json["event"]

    client.post(f"/v1/events/{event}/close", json={"words": "Three metres along the same wall."}, headers=BY)

    assert use(client)["may"] == "may use"


def test_a_move_to_another_site_goes_to_a_ward_of_that_site(client: FlaskClient) -> None:
    wrong = tell(client, "moves", site="HM")
    right = tell(client, "moves", site="HM", ward="HM-MED")

    assert (wrong.status_code, wrong.json["code"]) == (422, "reference-missing")
    assert (right.status_code, right.json["flags"]) == (201, [])
    assert device(client)["site"] == "HM"


def test_a_move_that_is_refused_leaves_nothing_behind(client: FlaskClient) -> None:
    before, number = device(client), entries(client)

    assert tell(client, "moves", ward="NOWHERE").status_code == 422

    assert (device(client), entries(client)) == (before, number)
    assert client.get("/v1/events").json["items"] == []


@pytest.mark.parametrize("state", ["held back", "out of service", "lent out", "not found", "retired"])
def test_a_state_stops_use_and_is_told_with_its_reason(client: FlaskClient, state: str) -> None:
    send(client, example())

    answer = tell(client, "states", state=state)

    assert answer.status_code == 201
    assert "leaves_open" not in answer.json
    assert (device(client)["state"], device(client)["state_reason"]) == (state, STATE["reason"])
    assert "state" in codes(client)


def test_a_state_told_in_utc_on_an_evening_holds_from_that_day_on(client: FlaskClient) -> None:
    tell(client, "states", happened_at="2026-11-25T04:00:00Z")

    assert [device(client, on)["state"] for on in ("2026-11-23", "2026-11-24")] == ["in service", "held back"]


def test_in_service_again_lifts_the_state_and_the_limit_and_closes_nothing(client: FlaskClient) -> None:
    send(client, example())
    client.put(f"/v1/reports/{an_id()}", json=REPORT | {"kind": "damaged", "happened_at": LATER})
    tell(client, "limits")

    tell(client, "states", state="in service", happened_at=SHORTLY_AFTER)

    assert "limit" not in device(client)
    assert codes(client) & {"state", "limited", "limit-missing"} == set()
    assert "damaged" in codes(client)


def test_retired_is_for_good(client: FlaskClient) -> None:
    tell(client, "states", state="retired")

    for what in ACTS:
        answer = tell(client, what, happened_at=SHORTLY_AFTER)
        assert (answer.status_code, answer.json["code"]) == (409, "device-is-retired"), what


def test_a_retirement_told_late_holds_over_what_was_told_of_later_days(client: FlaskClient) -> None:
    tell(client, "limits", happened_at="2026-11-24T10:00:00-07:00")

    tell(client, "states", state="retired", reason="Worn out.", happened_at="2026-11-20T10:00:00-07:00")

    assert [device(client, on)["state"] for on in ("2026-11-19", "2026-11-20", "2026-11-25")] == [
        "in service", "retired", "retired",
    ]  # fmt: skip
    assert use(client)["may"] == "do not use"


def test_of_two_states_at_one_moment_the_same_holds_whichever_was_told_first(client: FlaskClient) -> None:
    one, two = sorted((an_id(), an_id()))

    tell(client, "states", id=two, state="out of service")
    tell(client, "states", id=one, state="held back")

    assert device(client)["state"] == "out of service"


def test_a_limit_in_writing_is_the_devices_and_ends_on_its_day(client: FlaskClient) -> None:
    send(client, example())

    assert tell(client, "limits").status_code == 201

    limit = device(client)["limit"]
    assert limit == {
        "up_to": {"value": "120", "unit": "kg"}, "reason": LIMIT["reason"], "decided_by": "S-01", "until": "2027-02-28",
    }  # fmt: skip
    answer = use(client)
    assert (answer["may"], answer["up_to_kg"], answer["until"]) == ("may use within limits", "120", "2027-02-28")


def test_a_scale_that_was_held_back_may_be_used_within_a_persons_limit(client: FlaskClient) -> None:
    send(client, example())
    tell(client, "states", state="held back")

    tell(client, "limits", happened_at=SHORTLY_AFTER)

    assert device(client)["state"] == "limited"
    assert use(client)["may"] == "may use within limits"


def test_a_limit_closes_nothing_that_is_open(client: FlaskClient) -> None:
    send(client, example())
    tell(client, "repairs")

    tell(client, "limits", happened_at=SHORTLY_AFTER)

    assert use(client)["may"] == "do not use"


def test_a_limit_that_ended_before_it_began_is_refused(client: FlaskClient) -> None:
    answer = tell(client, "limits", until="2026-11-23")

    assert (answer.status_code, answer.json["errors"][0]["pointer"]) == (422, "#/until")


def test_a_repair_stays_open_until_a_released_calibration_after_it(client: FlaskClient) -> None:
    send(client, example())
    tell(client, "repairs")
    assert {"sent-for-repair"} <= codes(client)

    tell(client, "repairs", stage="returned", happened_at=SHORTLY_AFTER, words="New foot.", seal_broken=True)
    assert "sent-for-repair" not in codes(client)
    (back,) = [why["sentence"] for why in use(client)["why"] if why["code"] == "not-calibrated-since-repair"]
    assert back.endswith("and was not calibrated since; its seal was broken.")

    send(client, a_later_calibration())
    found = client.get(f"/v1/devices/{DEVICE}/events?on=2026-11-25").json["items"]
    assert [(event["what"], event["closed"]["closed_by"]) for event in found] == [
        ("returned", "a calibration"), ("sent", "its return"),
    ]  # fmt: skip


@pytest.mark.parametrize("what", ACTS)
def test_the_same_again_is_answered_as_the_first_time_and_changes_nothing(client: FlaskClient, what: str) -> None:
    body = ACTS[what] | {"id": an_id(), "happened_at": LATER}
    first = client.post(f"/v1/devices/{DEVICE}/{what}", json=body, headers=BY)
    revisions = client.get(f"/v1/devices/{DEVICE}/revisions").json

    again = client.post(f"/v1/devices/{DEVICE}/{what}", json=body, headers=BY)
    other = client.post(f"/v1/devices/{DEVICE}/{what}", json=body | {"happened_at": SHORTLY_AFTER}, headers=BY)

    assert (again.status_code, again.json) == (200, first.json | {"replayed": True})
    assert (other.status_code, other.json["pointers"]) == (409, ["#/happened_at"])
    assert client.get(f"/v1/devices/{DEVICE}/revisions").json == revisions


def test_the_same_again_is_known_although_the_device_stands_at_another_site_by_now(client: FlaskClient) -> None:
    body = STATE | {"id": an_id(), "happened_at": LATER}
    client.post(f"/v1/devices/{DEVICE}/states", json=body, headers=BY)
    tell(client, "moves", site="HM", ward="HM-MED", happened_at="2026-11-20T08:00:00-07:00")

    assert client.post(f"/v1/devices/{DEVICE}/states", json=body, headers=BY).status_code == 200


@pytest.mark.parametrize(("what", "told"), [
    ("moves", {"place": "bed of Mrs Smith"}), ("moves", {"reason": "Mrs Smith asked"}),
    ("states", {"reason": "Mrs Smith asked"}), ("limits", {"reason": "Mrs Smith asked"}),
    ("repairs", {"words": "Mrs Smith broke it"}),
])  # fmt: skip
def test_words_that_look_like_a_persons_are_refused_before_they_reach_the_register(
    client: FlaskClient, what: str, told: dict[str, str]
) -> None:
    before = entries(client)

    answer = tell(client, what, **told)

    assert (answer.status_code, answer.json["code"]) == (422, "names-a-person")
    assert entries(client) == before


@pytest.mark.parametrize("what", ACTS)
def test_what_has_not_happened_yet_is_refused(client: FlaskClient, what: str) -> None:
    answer = tell(client, what, happened_at="2026-12-01T08:00:00-07:00")

    assert (answer.status_code, answer.json["code"]) == (422, "not-yet")


@pytest.mark.parametrize("what", ACTS)
def test_a_device_that_nobody_knows_is_not_on_record(client: FlaskClient, what: str) -> None:
    assert tell(client, what, tag="Z-99").json["code"] == "not-on-record"


@pytest.mark.parametrize("what", ACTS)
def test_nobody_in_particular_tells_nothing_of_a_device(client: FlaskClient, what: str) -> None:
    answer = client.post(f"/v1/devices/{DEVICE}/{what}", json=ACTS[what] | {"id": an_id(), "happened_at": LATER})

    assert (answer.status_code, answer.json["code"]) == (403, "person-missing")


def test_what_is_told_late_holds_up_to_what_was_told_of_later_days(client: FlaskClient) -> None:
    tell(client, "moves", place="second place", happened_at="2026-11-20T08:00:00-07:00")
    tell(client, "states", happened_at="2026-11-15T08:00:00-07:00")

    tell(client, "moves", place="first place", happened_at="2026-11-10T08:00:00-07:00")

    stood = {day: (device(client, day)["place"], device(client, day)["state"]) for day in (
        "2026-11-09", "2026-11-10", "2026-11-15", "2026-11-20", "2026-11-25")}  # fmt: skip
    assert stood == {
        "2026-11-09": ("weighing corner", "in service"),
        "2026-11-10": ("first place", "in service"),
        "2026-11-15": ("first place", "held back"),
        "2026-11-20": ("second place", "held back"),
        "2026-11-25": ("second place", "held back"),
    }


def test_a_register_change_of_another_kind_is_not_undone_by_what_is_told_late(client: FlaskClient) -> None:
    record = device(client) | {"firmware": "2.1"}
    assert change(client, f"devices/{DEVICE}", "2026-11-22", record).status_code == 200

    tell(client, "moves", happened_at="2026-11-20T08:00:00-07:00")

    found = device(client)
    assert (found["firmware"], found["place"]) == ("2.1", MOVE["place"])


def test_of_two_moves_on_one_day_the_later_holds_whichever_was_told_first(client: FlaskClient) -> None:
    tell(client, "moves", place="evening", happened_at=LATER)

    tell(client, "moves", place="morning", happened_at="2026-11-24T07:00:00-07:00")

    assert device(client)["place"] == "evening"
    assert len(client.get(f"/v1/devices/{DEVICE}/events").json["items"]) == 2
