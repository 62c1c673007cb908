"""The life of weights over HTTP: what is told is kept once, bad news holds at once, and only a person lifts a hold."""

from itertools import permutations
from typing import Any

import pytest
from flask.testing import FlaskClient
from sqlalchemy import Engine

from tests.doors import an_id, example, send
from tests.keyed import ALL, a_key, bearing, keyed_app
from tests.weights_told import TAKEN, back, compared, laboratory, mishap, out, release, tell

ON = "2026-11-25"


@pytest.fixture
def template(registered: str) -> str:
    return registered


def life(client: FlaskClient, of: str = "weights/FS1-10", on: str = ON) -> Any:
    answer = client.get(f"/v1/{of}/life?on={on}")
    assert answer.status_code == 200, answer.get_data(as_text=True)
    return answer.json


def codes(found: Any) -> list[str]:
    return [why["code"] for why in found["why"]]


def test_a_check_out_says_with_whom_the_set_is_and_to_count_it(client: FlaskClient) -> None:
    receipt = tell(client, out())

    assert (receipt.status_code, receipt.json["flags"], receipt.json["not_counted_on"]) == (201, [], [])
    assert [caution["code"] for caution in receipt.json["cautions"]] == ["C-07", "C-18", "C-21"]
    told = life(client, "weight-sets/FS-1")
    assert (told["may_be_used"], told["out"]["by"], told["out"]["round"]) == ("all of it", "T-01", "north wing")
    assert [p["piece"] for p in told["pieces"] if "out" in p] == TAKEN


def test_a_count_names_what_is_missing_and_a_later_one_finds_it(client: FlaskClient) -> None:
    tell(client, out())

    counted = tell(client, back("24T16:00", *TAKEN[:3])).json

    assert (counted["missing"], counted["not_counted_on"]) == (["FS1-5"], ["FS1-5"])
    assert life(client, "weight-sets/FS-1")["missing"] == ["FS1-5"]
    assert codes(life(client, "weights/FS1-5")) == ["missing"]
    assert tell(client, back("24T17:00", "FS1-5")).json["missing"] == []
    assert life(client, "weight-sets/FS-1")["may_be_used"] == "all of it"


def test_a_dropped_piece_is_held_at_once_and_named_in_the_receipt(client: FlaskClient) -> None:
    receipt = tell(client, mishap()).json

    assert receipt["not_counted_on"] == ["FS1-10"]
    found = life(client)
    assert (found["may_be_used"], codes(found)) == (False, ["dropped"])
    assert found["why"][0]["sentence"] == "It was dropped on 2026-11-24."
    assert life(client, on="2026-11-23")["may_be_used"] is True
    assert life(client, "weight-sets/FS-1")["may_be_used"] == "not all of it"


def test_a_visit_with_a_held_piece_is_kept_and_flagged_and_one_before_it_is_not(client: FlaskClient) -> None:
    tell(client, mishap("24T08:00", "FS1-20-01"))
    body = example()
    assert body["performed"]["start"] > "2026-11-24T08:00"

    flagged = send(client, body).json

    held = [flag for flag in flagged["flags"] if flag["code"] == "held-weight"]
    assert [flag["facts"]["piece"] for flag in held] == ["FS1-20-01"]
    assert (held[0]["pointer"].startswith("#/as_found/readings/"), flagged["standing"]) == (True, "provisional")
    before = body | {"performed": {"start": "2026-11-24T07:00:00-07:00", "end": "2026-11-24T07:30:00-07:00"}}
    assert "held-weight" not in [flag["code"] for flag in send(client, before).json["flags"]]


def test_a_plan_and_a_round_do_without_a_held_piece_and_say_so(client: FlaskClient) -> None:
    asked: dict[str, Any] = {"on": ON, "devices": ["A-04"], "sets": ["FS-1"]}
    assert "FS1-10" in client.get(f"/v1/devices/A-04/plan?on={ON}&set=FS-1").get_data(as_text=True)
    tell(client, mishap())

    plan = client.get(f"/v1/devices/A-04/plan?on={ON}&set=FS-1").json
    taken = client.post("/v1/rounds:weights", json=asked).json

    why = [{"piece": "FS1-10", "why": "It was dropped on 2026-11-24."}]
    assert (plan["held"], taken["held"]) == (why, why)
    assert "FS1-10" not in str(plan["plan"])
    assert "FS1-10" not in str(taken["sets"])


def test_a_comparison_is_worked_out_and_kept_with_all_it_came_from(client: FlaskClient) -> None:
    event = an_id()
    receipt = tell(client, compared(), event).json

    kept = client.get(f"/v1/weight-events/{event}").json
    assert (receipt["verdict"], receipt["flags"]) == ("agrees", [])
    assert kept["comparison"] == receipt["comparison"]
    assert {part["name"] for part in kept["comparison"]["parts"]} == {
        "standard", "drift of the standard", "buoyancy", "rounding", "repeatability",
    }  # fmt: skip
    assert life(client)["may_be_used"] is True


def test_a_comparison_that_differs_holds_the_piece(client: FlaskClient) -> None:
    receipt = tell(client, compared(off="-30")).json

    assert (receipt["verdict"], receipt["not_counted_on"]) == ("differs", ["FS1-10"])
    assert codes(life(client)) == ["differs"]


def test_a_comparison_that_cannot_be_worked_out_is_kept_and_tells_nothing(client: FlaskClient) -> None:
    receipt = tell(client, compared(piece="FS1-20-01"))

    assert (receipt.status_code, receipt.json["verdict"]) == (201, "cannot tell")
    assert [flag["code"] for flag in receipt.json["flags"]] == ["not-alike"]
    assert life(client, "weights/FS1-20-01")["may_be_used"] is True


def test_a_held_standard_tells_nothing_of_a_piece(client: FlaskClient) -> None:
    tell(client, mishap("24T12:00", "IN1-10"))

    receipt = tell(client, compared()).json

    assert receipt["verdict"] == "cannot tell"
    assert [(flag["code"], flag["pointer"]) for flag in receipt["flags"]] == [("held-weight", "#/against/0")]


def test_a_person_releases_a_piece_on_a_comparison_that_agreed_after_it_was_held(client: FlaskClient) -> None:
    event = an_id()
    tell(client, mishap("24T13:00"))
    tell(client, compared("24T14:00"), event)

    released = tell(client, release("24T15:00", comparison=event))

    assert (released.status_code, released.json["not_counted_on"]) == (201, [])
    assert life(client)["may_be_used"] is True
    assert life(client)["events"][0]["kind"] == "released"


def test_a_comparison_before_the_drop_or_one_that_differs_releases_nothing(client: FlaskClient) -> None:
    before, bad = an_id(), an_id()
    tell(client, compared("24T12:00"), before)
    tell(client, mishap("24T13:00"))
    tell(client, compared("24T14:00", off="-30"), bad)

    for basis in ({"comparison": before}, {"comparison": bad}, {"comparison": an_id()}, {"certificate": "LM-FS-1-4"}):
        answer = tell(client, release("24T15:00", **basis))
        assert (answer.status_code, answer.json["code"]) == (409, "hold-stays")
    assert life(client)["may_be_used"] is False


def test_there_is_nothing_to_release_where_nothing_holds(client: FlaskClient) -> None:
    answer = tell(client, release(certificate="LM-FS-1-4"))

    assert (answer.status_code, answer.json["code"]) == (409, "hold-stays")


def test_a_piece_at_the_laboratory_may_not_be_used_and_waits_for_its_certificate(client: FlaskClient) -> None:
    tell(client, laboratory("sent to the laboratory", "20T08:00"))
    assert codes(life(client)) == ["at-the-laboratory"]

    tell(client, laboratory("back from the laboratory", "24T08:00"))

    assert codes(life(client)) == ["waits-for-its-certificate"]


def test_the_same_event_again_is_answered_as_the_first_time_and_another_under_its_id_is_refused(
    client: FlaskClient,
) -> None:
    event = an_id()
    first = tell(client, mishap(), event)

    again, other = tell(client, mishap(), event), tell(client, mishap("24T13:01"), event)

    assert (first.status_code, again.status_code, again.json["replayed"]) == (201, 200, True)
    assert again.json["log_number"] == first.json["log_number"]
    assert (other.status_code, other.json["code"], other.json["pointers"]) == (
        409,
        "content-differs",
        ["#/happened_at"],
    )


def test_what_the_register_does_not_know_is_kept_and_flagged(client: FlaskClient) -> None:
    body = out("24T07:40", "FS1-10", "LOAN-20-1", "IN1-5") | {"by": "T-99"}

    receipt = tell(client, body)

    assert receipt.status_code == 201
    assert [(flag["code"], flag["pointer"]) for flag in receipt.json["flags"]] == [
        ("unknown-weight", "#/pieces/1"), ("unknown-technician", "#/by"), ("piece-not-in-set", "#/pieces"),
    ]  # fmt: skip


def test_a_held_piece_that_goes_out_all_the_same_is_flagged(client: FlaskClient) -> None:
    tell(client, mishap("24T06:00"))

    flags = tell(client, out("24T07:40")).json["flags"]

    assert [(flag["code"], flag["pointer"]) for flag in flags] == [("held-weight", "#/pieces/2")]


def test_an_event_told_ahead_of_its_time_counts_from_when_it_came(client: FlaskClient) -> None:
    ahead = mishap() | {"happened_at": "2099-01-01T00:00:00+00:00"}

    receipt = tell(client, ahead).json

    assert [flag["code"] for flag in receipt["flags"]] == ["event-in-future"]
    assert receipt["not_counted_on"] == ["FS1-10"]


def test_the_order_in_which_events_arrive_changes_nothing(client: FlaskClient) -> None:
    """A release is the one that has to find what it rests on; all else may come in any order."""
    told = [
        out("24T07:40"),
        mishap("24T09:00"),
        back("24T16:00", *TAKEN[:3]),
        mishap("24T10:00", "FS1-1", what="washed"),
    ]
    days = iter(("02", "03", "04", "05", "06", "09"))
    seen = []
    for order in list(permutations(told))[::4]:
        day = next(days)
        for body in order:
            tell(client, body | {"happened_at": body["happened_at"].replace("-11-24T", f"-11-{day}T")})
        found = life(client, "weight-sets/FS-1", on=f"2026-11-{day}")
        seen.append([(p["piece"], [w["code"] for w in p["why"] if w["since"].endswith(day)]) for p in found["pieces"]])
    assert len(seen) == 6
    assert all(one == seen[0] for one in seen)


def test_every_fault_of_a_wrong_event_is_told(client: FlaskClient) -> None:
    no_kind = tell(client, {"schema": "weight-event/1", "site": "QG"}).json
    lost = tell(client, mishap() | {"kind": "lost"}).json
    coarse = tell(client, compared() | {"division": {"value": "0", "unit": "g"}}).json
    both = tell(client, release(comparison=an_id(), certificate="LM-1")).json

    assert [fault["detail"] for fault in no_kind["errors"]] == ["kind: Missing; this field is required."]
    assert "accepted: one of checked out, counted in" in lost["errors"][0]["detail"]
    assert [fault["pointer"] for fault in coarse["errors"]] == ["#/division"]
    assert [fault["pointer"] for fault in both["errors"]] == ["#/comparison"]


def test_another_site_tells_of_its_own_doing_only_and_reads_the_life_of_every_weight(settings: Any) -> None:
    with keyed_app(settings) as app:
        engine: Engine = app.extensions["steelyard.engine"]
        client, event = app.test_client(), an_id()
        at_hm = bearing(a_key(engine, "read", "submit", holder="HM", sites=("HM",)))
        everything = bearing(a_key(engine, *ALL, holder="ALL"))
        assert client.put(f"/v1/weight-events/{event}", json=mishap(), headers=at_hm).status_code == 403
        assert client.put(f"/v1/weight-events/{event}", json=mishap(), headers=everything).status_code == 201

        assert client.get("/v1/weights/FS1-10/life", headers=at_hm).json["may_be_used"] is False
        at_its_own = client.put(f"/v1/weight-events/{an_id()}", json=mishap() | {"site": "HM"}, headers=at_hm)
        assert at_its_own.status_code == 201
        changes = client.get("/v1/changes?limit=1000", headers=at_hm).json["items"]
        assert [entry["kind"] for entry in changes][-2:] == ["weights dropped", "weights dropped"]


def test_a_release_needs_a_person(settings: Any) -> None:
    with keyed_app(settings) as app:
        engine: Engine = app.extensions["steelyard.engine"]
        unit = bearing(a_key(engine, *ALL, holder="UNIT"))
        answer = app.test_client().put(f"/v1/weight-releases/{an_id()}", json=release(certificate="LM"), headers=unit)

        assert (answer.status_code, answer.json["code"]) == (403, "person-missing")
