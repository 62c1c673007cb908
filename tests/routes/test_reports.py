"""Trouble told by a ward or the desk: kept under an id of its own, counted at once, closed by a person or a release."""

from typing import Any

import pytest
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from api.metrology.device_events import Trouble
from api.routes.event_examples import REPORT
from tests.doors import an_id, change, example, send
from tests.lives import failing

DEVICE, BY = "A-04", {"Steelyard-By": "S-01"}
LATER = "2026-11-24T23:00:00-07:00"  # after the visit of the example, and before noon UTC of the next day
IN_UTC = "2026-11-25T04:00:00Z"  # the evening of the 24th where the scale stands


def report(
    client: FlaskClient, event: str | None = None, headers: dict[str, str] | None = None, **told: Any
) -> TestResponse:
    """Send a report like the example's, with some of it told otherwise."""
    return client.put(f"/v1/reports/{event or an_id()}", json=REPORT | told, headers=headers)


def use(client: FlaskClient, tag: str = DEVICE, on: str = "2026-11-25") -> dict[str, Any]:
    found: dict[str, Any] = client.get(f"/v1/devices/{tag}/use?on={on}").json
    return found


def codes(client: FlaskClient, **asked: str) -> set[str]:
    return {why["code"] for why in use(client, **asked)["why"]}


def of_device(client: FlaskClient, tag: str = DEVICE, **asked: str) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = client.get(f"/v1/devices/{tag}/events", query_string=asked).json["items"]
    return found


def a_calibration(begun: str = "2026-11-25T02:00:00-07:00", ended: str = "2026-11-25T02:40:00-07:00") -> dict[str, Any]:
    return example() | {"performed": {"start": begun, "end": ended}}


@pytest.mark.parametrize("kind", Trouble.__args__)
def test_any_trouble_lowers_use_at_once(client: FlaskClient, kind: str) -> None:
    send(client, example())
    assert use(client)["may"] == "may use"

    answer = report(client, kind=kind, happened_at=LATER)

    assert answer.status_code == 201, answer.json
    assert answer.json["leaves_open"] == kind
    assert use(client)["may"] in ("not proven", "do not use")
    (told,) = of_device(client)
    assert told["open"]
    assert told["content"] == REPORT | {"kind": kind, "happened_at": LATER}


def test_what_may_hurt_is_told_what_to_do_now(client: FlaskClient) -> None:
    assert any("C-17" in said for said in report(client, kind="damaged").json["cautions"])
    assert any("C-03" in said for said in report(client, kind="wrong unit").json["cautions"])


def test_the_same_report_again_is_answered_as_the_first_time_and_counts_once(client: FlaskClient) -> None:
    event = an_id()
    first = report(client, event)

    again = report(client, event, {"Steelyard-Sent-At": "2026-11-25T11:59:00Z"})

    assert (first.status_code, again.status_code) == (201, 200)
    assert again.json == first.json | {"replayed": True}
    assert len(of_device(client)) == 1


def test_the_same_report_to_the_address_of_its_device_is_the_same_report(client: FlaskClient) -> None:
    event = an_id()
    report(client, event)
    body = {name: value for name, value in REPORT.items() if name != "device"} | {"id": event}

    again = client.post(f"/v1/devices/{DEVICE}/reports", json=body)

    assert (again.status_code, again.json["replayed"]) == (200, True)
    assert client.post("/v1/devices/A-07/reports", json=body).status_code == 409


def test_other_content_under_the_same_id_is_refused_where_it_differs(client: FlaskClient) -> None:
    event = an_id()
    report(client, event)

    answer = report(client, event, words="It only tipped over.")

    assert (answer.status_code, answer.json["code"], answer.json["pointers"]) == (409, "content-differs", ["#/words"])
    assert of_device(client)[0]["content"]["words"] == REPORT["words"]


def test_address_and_body_must_name_the_same(client: FlaskClient) -> None:
    assert report(client, id=an_id()).json["code"] == "key-differs"
    answer = client.post("/v1/devices/A-07/reports", json=REPORT | {"id": an_id()})
    assert (answer.status_code, answer.json["code"]) == (422, "key-differs")


@pytest.mark.parametrize(("told", "field"), [
    ({"kind": "other", "words": " "}, "words"),
    ({"kind": "fell over"}, "kind"),
    ({"happened_at": "2026-11-24T07:20:00"}, "happened_at"),
    ({"reported_for": ""}, "reported_for"),
    ({"device": None}, "device"),
])  # fmt: skip
def test_a_report_of_the_wrong_shape_is_refused_with_the_field(
    client: FlaskClient, told: dict[str, Any], field: str
) -> None:
    body = {name: value for name, value in (REPORT | told).items() if value is not None}

    answer = client.put(f"/v1/reports/{an_id()}", json=body)

    assert (answer.status_code, answer.json["code"]) == (422, "wrong-shape")
    assert any(field in error["pointer"] + error["detail"] for error in answer.json["errors"])


def test_a_report_of_a_tag_that_nobody_knows_is_kept_and_listed_as_not_linked(client: FlaskClient) -> None:
    answer = report(client, device="Z-77")

    assert answer.status_code == 201
    assert not answer.json["device_on_register"]
    assert [flag["code"] for flag in answer.json["flags"]] == ["unknown-device"]
    (listed,) = client.get("/v1/events?device=Z-77").json["items"]
    assert not listed["device_on_register"]
    assert client.get("/v1/devices/Z-77/events").json["items"] == [listed]


def test_what_was_told_of_a_tag_before_it_came_onto_the_register_counts_for_it(client: FlaskClient) -> None:
    report(client, device="A-77")
    record = client.get(f"/v1/devices/{DEVICE}?on=2026-11-25").json["record"] | {"tag": "A-77", "serial": "77-1"}
    assert change(client, "devices/A-77", "2026-11-25", record).status_code == 201

    assert "dropped" in codes(client, tag="A-77")


def test_words_that_look_like_a_persons_are_flagged_and_kept(client: FlaskClient) -> None:
    answer = report(client, words="Mrs Smith was on it.", reported_for="nurse")

    assert [(flag["code"], flag["pointer"]) for flag in answer.json["flags"]] == [("looks-like-a-person", "#/words")]
    assert use(client)["may"] == "do not use"


def test_a_released_pass_after_it_closes_a_fall_and_one_before_it_does_not(client: FlaskClient) -> None:
    report(client)
    send(client, example())
    assert "dropped" not in codes(client)

    report(client, happened_at=LATER)

    assert "dropped" in codes(client)
    after = send(client, a_calibration()).json
    assert after["standing"] == "released"
    assert "dropped" not in codes(client)
    assert [event["closed"]["closed_by"] for event in of_device(client)] == ["a calibration", "a calibration"]
    assert of_device(client)[0]["closed"]["calibration"] == after["calibration"]


def test_a_pass_that_nobody_released_closes_nothing(client: FlaskClient) -> None:
    report(client, happened_at=LATER)

    after = send(client, a_calibration() | {"remarks": "Mrs Smith helped."})

    assert after.json["standing"] == "provisional"
    assert "dropped" in codes(client)


def test_damage_is_closed_by_a_person_alone(client: FlaskClient) -> None:
    event = an_id()
    report(client, event, kind="damaged")
    send(client, a_calibration())
    assert "damaged" in codes(client)

    closed = client.post(f"/v1/events/{event}/close", json={"words": "A scratch; nothing sharp."}, headers=BY)

    assert closed.status_code == 200
    assert (closed.json["open"], closed.json["closed"]["by_whom"]) == (False, "S-01")
    assert "damaged" not in codes(client)


def test_an_event_is_closed_once(client: FlaskClient) -> None:
    event, words = an_id(), {"words": "A scratch; nothing sharp."}
    report(client, event)
    first = client.post(f"/v1/events/{event}/close", json=words, headers=BY)
    entries = client.get("/v1/about").json["log_number"]

    again = client.post(f"/v1/events/{event}/close", json=words, headers=BY)
    otherwise = client.post(f"/v1/events/{event}/close", json={"words": "Nothing at all."}, headers=BY)

    assert again.json == first.json
    assert (otherwise.status_code, otherwise.json["code"]) == (409, "event-closed")
    assert client.get("/v1/about").json["log_number"] == entries


def test_nobody_in_particular_closes_nothing(client: FlaskClient) -> None:
    event = an_id()
    report(client, event)

    answer = client.post(f"/v1/events/{event}/close", json={"words": "Nothing bent."})

    assert (answer.status_code, answer.json["code"]) == (403, "person-missing")
    assert of_device(client)[0]["open"]


def test_words_of_a_closing_that_look_like_a_persons_are_refused(client: FlaskClient) -> None:
    event = an_id()
    report(client, event)

    answer = client.post(f"/v1/events/{event}/close", json={"words": "Mrs Smith looked at it."}, headers=BY)

    assert (answer.status_code, answer.json["code"]) == (422, "names-a-person")
    assert of_device(client)[0]["open"]


def test_a_wrong_unit_is_closed_when_the_unit_was_found_right_and_locked(client: FlaskClient) -> None:
    report(client, kind="wrong unit", happened_at=LATER)
    unlocked, locked = a_calibration(), a_calibration("2026-11-25T03:00:00-07:00", "2026-11-25T03:40:00-07:00")
    for body, lock in ((unlocked, False), (locked, True)):
        body["configuration"]["after"] |= {"unit": "kg", "unit_locked": lock}

    send(client, unlocked)
    assert "wrong-unit-reported" in codes(client)
    send(client, locked)
    assert "wrong-unit-reported" not in codes(client)


def test_an_event_is_open_on_each_day_between_what_happened_and_what_closed_it(client: FlaskClient) -> None:
    send(client, example())
    report(client, happened_at=LATER)
    send(client, a_calibration())

    standing = {
        day: [event["open"] for event in of_device(client, on=day)]
        for day in ("2026-11-23", "2026-11-24", "2026-11-25")
    }

    assert standing == {"2026-11-23": [False], "2026-11-24": [True], "2026-11-25": [False]}
    assert "dropped" in codes(client, on="2026-11-24")
    assert "dropped" not in codes(client, on="2026-11-23")


def test_what_an_app_tells_in_utc_on_an_evening_counts_that_evening(client: FlaskClient) -> None:
    send(client, example())

    report(client, happened_at=IN_UTC)

    (event,) = of_device(client, on="2026-11-24")
    assert (event["happened_on"], event["happened_at"], event["open"]) == ("2026-11-24", IN_UTC, True)
    assert "dropped" in codes(client, on="2026-11-24")


def test_a_visit_told_in_utc_on_an_evening_counts_that_evening(client: FlaskClient) -> None:
    send(client, example())

    send(client, failing() | {"performed": {"start": IN_UTC, "end": "2026-11-25T04:40:00Z"}})

    assert use(client, on="2026-11-24")["may"] == "do not use"
    assert use(client, on="2026-11-23")["may"] != "do not use"


def test_a_wrong_clock_is_measured_and_the_event_counts_by_ours(client: FlaskClient) -> None:
    told = report(
        client, headers={"Steelyard-Sent-At": "2026-11-25T13:00:00Z"}, happened_at="2026-11-25T12:30:00+00:00"
    ).json

    (event,) = of_device(client)
    assert [flag["code"] for flag in told["flags"]] == ["clock-off"]
    assert (event["happened_at"], event["counts_from"]) == ("2026-11-25T12:30:00+00:00", "2026-11-25T11:30:00+00:00")
    assert event["clock_offset_seconds"] == "-3600.000"


def test_an_event_dated_ahead_counts_from_when_it_was_received(client: FlaskClient) -> None:
    told = report(client, happened_at="2027-11-25T09:00:00-07:00").json

    assert [flag["code"] for flag in told["flags"]] == ["happened-in-future"]
    assert of_device(client)[0]["counts_from"] == "2026-11-25T12:00:00+00:00"
    assert "dropped" in codes(client)


def test_the_list_is_asked_by_device_kind_site_and_whether_it_is_open(client: FlaskClient) -> None:
    report(client, kind="dropped")
    report(client, kind="damaged")
    report(client, device="A-07", site="HM", kind="moved")
    send(client, a_calibration())

    def listed(question: str) -> list[str]:
        return [event["what"] for event in client.get(f"/v1/events?{question}").json["items"]]

    assert sorted(listed("")) == ["damaged", "dropped", "moved"]
    assert sorted(listed("open=true")) == ["damaged", "moved"]
    assert listed("open=false&on=2026-11-25") == ["dropped"]
    assert sorted(listed("device=A-04&kind=report")) == ["damaged", "dropped"]
    assert listed("site=HM") == ["moved"]
    assert listed("kind=move") == []
    assert client.get("/v1/events?open=perhaps").json["code"] == "bad-question"


def test_what_was_told_this_morning_is_listed_as_open_wherever_it_is_morning(client: FlaskClient) -> None:
    site = client.get("/v1/sites/QG?on=2026-11-25").json["record"]
    change(client, "sites/QG", "2026-01-01", site | {"time_zone": "Pacific/Auckland"})

    report(client, happened_at="2026-11-26T00:30:00+13:00")  # half an hour ago, by the service's clock

    (event,) = client.get("/v1/events?open=true").json["items"]
    assert event["happened_on"] == "2026-11-26"


def test_an_event_is_read_as_it_was_told(client: FlaskClient) -> None:
    event = an_id()
    receipt = report(client, event)

    found = client.get(receipt.headers["Location"])

    assert found.json["digest"] == receipt.json["digest"] == receipt.json["arrived_digest"]
    assert client.get(f"/v1/events/{an_id()}").json["code"] == "not-on-record"
