"""Checks in service by ward staff: judged at once, never a calibration; a failing one lowers use, none raises it.

HB 44 (2026) 2.20 Table 6: 20 kg on a class III scale of 0.1 kg is 200 d, so that the maintenance tolerance is 1 d.
"""

from typing import Any

from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from api.routes.event_examples import CHECK
from tests.doors import an_id, example, send

LATER = "2026-11-24T23:00:00-07:00"


def check(client: FlaskClient, shown: str = "20.0", **told: Any) -> TestResponse:
    """Send a check like the example's with another indication, after the visit of the example."""
    body = CHECK | {"indication": {"value": shown, "unit": "kg"}, "happened_at": LATER} | told
    return client.put(f"/v1/checks/{an_id()}", json={name: value for name, value in body.items() if value is not None})


def use(client: FlaskClient, tag: str = "A-04") -> dict[str, Any]:
    found: dict[str, Any] = client.get(f"/v1/devices/{tag}/use?on=2026-11-25").json
    return found


def test_a_check_that_fails_lowers_use_at_once_and_says_at_which_load(client: FlaskClient) -> None:
    send(client, example())

    answer = check(client, "20.2").json

    assert (answer["verdict"], answer["leaves_open"]) == ("fail", "failed check")
    assert any("C-17" in said for said in answer["cautions"])
    first = use(client)["why"][0]
    assert (first["may"], first["code"]) == ("do not use", "failed-check")
    assert first["sentence"] == ("A check in service failed on 24 November 2026: it showed 20.2 kg with 20 kg on it.")


def test_a_check_that_passes_leaves_use_as_it_was(client: FlaskClient) -> None:
    never = use(client)
    check(client)
    assert use(client) == never
    send(client, example())
    before = use(client)

    assert check(client, "20.1").json["verdict"] == "pass"

    assert use(client) == before


def test_a_check_that_passes_closes_nothing(client: FlaskClient) -> None:
    send(client, example())
    check(client, "20.3")

    check(client, happened_at="2026-11-24T23:30:00-07:00")

    assert "failed-check" in {why["code"] for why in use(client)["why"]}


def test_a_released_calibration_after_it_closes_a_failed_check(client: FlaskClient) -> None:
    check(client, "20.3")
    send(client, example() | {"performed": {"start": "2026-11-25T02:00:00-07:00", "end": "2026-11-25T02:40:00-07:00"}})

    assert use(client)["may"] == "may use"


def test_a_check_is_kept_with_every_number_of_its_verdict(client: FlaskClient) -> None:
    event = check(client, "20.2").json["event"]

    found = client.get(f"/v1/events/{event}").json

    phase = found["working"]["as_found"]
    (point,) = phase["points"]
    assert (phase["scheme"], phase["tests"]) == ({"name": "hb44", "edition": "2026", "stage": "maintenance"}, [])
    assert "proven" not in phase
    assert (point["error_kg"], point["tolerance_kg"], point["verdict"]) == ("0.2", "0.1", "fail")
    assert point["reference_kg"] == "20"
    assert found["working"]["device"]["tag"] == "A-04"


def test_pieces_of_the_register_are_a_known_load(client: FlaskClient) -> None:
    answer = check(client, "20.0", known=None, pieces=["FS1-20-01"]).json

    assert (answer["verdict"], answer["flags"]) == ("pass", [])
    point = client.get(f"/v1/events/{answer['event']}").json["working"]["as_found"]["points"][0]
    assert point["pieces"] == ["FS1-20-01"]


def test_a_piece_that_nobody_knows_decides_nothing_and_is_flagged(client: FlaskClient) -> None:
    send(client, example())
    before = use(client)

    answer = check(client, "99.0", known=None, pieces=["X-1"]).json

    assert (answer["verdict"], [flag["code"] for flag in answer["flags"]]) == ("undecided", ["no-reference-value"])
    assert use(client) == before


def test_a_check_of_a_tag_that_nobody_knows_is_kept_without_a_verdict(client: FlaskClient) -> None:
    answer = check(client, device="Z-77")

    assert answer.status_code == 201
    assert "verdict" not in answer.json
    assert [flag["code"] for flag in answer.json["flags"]] == ["unknown-device"]


def test_a_check_is_no_calibration(client: FlaskClient) -> None:
    check(client)

    assert client.get("/v1/devices/A-04/history").json["items"] == []
    assert "never-calibrated" in {why["code"] for why in use(client)["why"]}


def test_the_same_check_again_is_answered_as_the_first_time(client: FlaskClient) -> None:
    event, body = an_id(), CHECK | {"happened_at": LATER}
    first = client.put(f"/v1/checks/{event}", json=body)

    again = client.put(f"/v1/checks/{event}", json=body)
    other = client.put(f"/v1/checks/{event}", json=body | {"indication": {"value": "20.3", "unit": "kg"}})

    assert (first.status_code, again.status_code, other.status_code) == (201, 200, 409)
    assert again.json == first.json | {"replayed": True}
    assert other.json["pointers"] == ["#/indication/value"]


def test_a_check_names_its_load_one_way(client: FlaskClient) -> None:
    for wrong in (check(client, known=None), check(client, pieces=["FS1-20-01"])):
        assert (wrong.status_code, wrong.json["code"]) == (422, "wrong-shape")
    nothing = {
        "mass": {"value": "0", "unit": "kg"},
        "off_by_at_most": {"value": "0.01", "unit": "kg"},
        "described": "none",
    }
    assert check(client, known=nothing).status_code == 422
