"""Void records speak for nothing and stay readable; codes that were not known are linked later, and judged again beside."""

from typing import Any

import pytest
from flask.testing import FlaskClient

from api.settings import Settings
from tests.doors import change, example, send
from tests.filled_record import NOON, rows
from tests.lives import a_visit, act, amended, failing, kept, release
from tests.routes.test_amendments import corrected, history, last_good, use

ON = "?on=2026-11-25"
SENT_TWICE = {"because": "It was sent about the wrong scale."}


def test_a_void_record_speaks_for_nothing_and_is_shown_with_its_reason(client: FlaskClient) -> None:
    calibration = send(client, example()).json["calibration"]
    assert last_good(client) == "2026-11-24"

    answer = act(client, calibration, "void", SENT_TWICE).json

    assert (answer["standing"], answer["because"]) == ("void", SENT_TWICE["because"])
    assert (use(client)["may"], last_good(client), history(client)) == ("not proven", None, [(1, "void")])
    assert client.get(f"/v1/devices/A-04/weighing{ON}").json["code"] == "nothing-to-compute-from"
    assert client.get(f"/v1/calibrations/{calibration}/content").json == example()


def test_a_void_failure_holds_no_scale_back(client: FlaskClient) -> None:
    send(client, example())
    calibration = a_visit(client, failing() | {"device_revision": 7})
    assert use(client)["may"] == "do not use"

    act(client, calibration, "void", SENT_TWICE)

    assert use(client)["may"] != "do not use"


def test_the_certificate_of_a_void_record_is_withdrawn_with_the_reason(client: FlaskClient) -> None:
    receipt = send(client, example()).json
    before = client.get(f"/v1/certificates/{receipt['certificate']}").data

    act(client, receipt["calibration"], "void", SENT_TWICE)

    stored = client.get(f"/v1/certificates/{receipt['certificate']}")
    assert (stored.data, stored.headers["Steelyard-State"]) == (before, "withdrawn")
    (item,) = client.get(f"/v1/certificates/{receipt['certificate']}/revisions").json["items"]
    assert (item["state"], item["because"]) == ("withdrawn", SENT_TWICE["because"])


def test_void_takes_a_pending_amendment_with_it(client: FlaskClient) -> None:
    calibration = send(client, example()).json["calibration"]
    amended(client, calibration, failing())

    act(client, calibration, "void", SENT_TWICE)

    assert history(client) == [(2, "void"), (1, "void")]
    assert use(client)["may"] == "not proven"


def test_what_was_superseded_stays_so_when_the_record_is_made_void(client: FlaskClient) -> None:
    calibration = send(client, example()).json["calibration"]
    amended(client, calibration, corrected())
    number = release(client, calibration).json["certificate"]

    act(client, calibration, "void", SENT_TWICE)

    items = client.get(f"/v1/certificates/{number}/revisions").json["items"]
    assert [item["state"] for item in items] == ["superseded", "withdrawn"]


def test_void_again_changes_nothing_and_nothing_more_is_done_to_it(client: FlaskClient, settings: Settings) -> None:
    calibration = send(client, example()).json["calibration"]
    act(client, calibration, "void", SENT_TWICE)
    before = rows(settings)

    again = act(client, calibration, "void", {"because": "Once more."})
    others = [release(client, calibration), amended(client, calibration, corrected())]

    assert (again.json["replayed"], again.json["because"]) == (True, SENT_TWICE["because"])
    assert [(a.status_code, a.json["code"]) for a in others] == [(409, "record-void")] * 2
    assert rows(settings) == before


def link(kind: str, as_sent: str, key: str) -> dict[str, Any]:
    return {"kind": kind, "as_sent": as_sent, "key": key, "because": "A slip of the pen."}


def test_a_scale_that_was_not_known_is_linked_and_its_visit_judged_again_beside(client: FlaskClient) -> None:
    calibration = a_visit(client, example() | {"device": "A-4"})
    assert history(client) == []

    answer = act(client, calibration, "links", link("device", "A-4", "A-04")).json

    assert (answer["judgement"], answer["as_found"], answer["standing"]) == (2, "pass", "released")
    record, before = kept(client, calibration), kept(client, calibration, "?judgement=1")
    assert (record["device"], record["device_on_register"], record["content"]["device"]) == ("A-04", True, "A-4")
    assert (before["judgement"], before["as_found"]) == (1, "undecided")
    assert [flag["code"] for flag in before["flags"]] == ["unknown-device"]
    assert history(client) == [(1, "released")]
    assert last_good(client) == "2026-11-24"


def test_the_certificate_of_a_linked_record_names_scale_and_link(client: FlaskClient) -> None:
    calibration = a_visit(client, example() | {"device": "A-4"})

    number = act(client, calibration, "links", link("device", "A-4", "A-04")).json["certificate"]

    stored = client.get(f"/v1/certificates/{number}").json
    assert (stored["device"]["tag"], stored["content"]["device"], stored["judgement_number"]) == ("A-04", "A-4", 2)
    assert stored["links"] == [{"kind": "device", "as_sent": "A-4", "key": "A-04"}]


def test_what_came_onto_the_register_later_under_its_own_code_is_linked_to_it(client: FlaskClient) -> None:
    calibration = a_visit(client, example() | {"ward": "QG-NEW"})
    ward = client.get(f"/v1/wards/QG-CDU{ON}").json["record"]
    asked = link("ward", "QG-NEW", "QG-NEW")
    assert act(client, calibration, "links", asked).json["code"] == "reference-missing"
    change(client, "wards/QG-NEW", "2026-11-01", ward | {"code": "QG-NEW"})

    answer = act(client, calibration, "links", asked).json

    assert (answer["standing"], answer["flags"]) == ("released", [])


@pytest.mark.parametrize(("kind", "change_", "as_sent", "key"), [
    ("technician", {"technicians": ["T-1"]}, "T-1", "T-01"),
    ("weight set", {"weight_set": "FS1"}, "FS1", "FS-1"),
])  # fmt: skip
def test_a_person_or_a_set_that_was_not_known_is_linked(
    client: FlaskClient, kind: str, change_: dict[str, Any], as_sent: str, key: str
) -> None:
    calibration = a_visit(client, example() | change_)
    assert kept(client, calibration)["standing"] == "provisional"

    assert act(client, calibration, "links", link(kind, as_sent, key)).json["standing"] == "released"


def test_a_piece_that_was_not_known_is_linked_wherever_it_stood(client: FlaskClient) -> None:
    body = example()
    for phase in ("as_found", "as_left"):
        for reading in body.get(phase, {}).get("readings", ()):
            reading["pieces"] = [p.replace("FS1-10", "FS1-1O") for p in reading.get("pieces", ())]
    calibration = a_visit(client, body)
    assert kept(client, calibration)["as_found"] == "undecided"

    answer = act(client, calibration, "links", link("weight", "FS1-1O", "FS1-10")).json

    assert (answer["as_found"], answer["standing"], answer["flags"]) == ("pass", "released", [])


def test_who_was_linked_as_the_technician_does_not_release(client: FlaskClient) -> None:
    calibration = a_visit(client, example() | {"technicians": ["T-2"], "ward": "QG-NEW"})

    act(client, calibration, "links", link("technician", "T-2", "T-02"))

    assert release(client, calibration, by="T-02").json["code"] == "own-work"


def test_the_same_link_again_changes_nothing(client: FlaskClient, settings: Settings) -> None:
    calibration = a_visit(client, example() | {"device": "A-4"})
    first = act(client, calibration, "links", link("device", "A-4", "A-04")).json
    before = rows(settings)

    again = act(client, calibration, "links", link("device", "A-4", "A-04")).json

    assert (again["replayed"], again["judgement"], again["certificate"]) == (True, 2, first["certificate"])
    assert rows(settings) == before


@pytest.mark.parametrize(("kind", "as_sent", "said"), [
    ("device", "A-04", "was known when this was judged"), ("device", "Z-9", "names no device 'Z-9'. It names: A-04"),
    ("weight", "X", "names no weight 'X'"),
])  # fmt: skip
def test_what_was_known_or_not_sent_is_not_linked(door: FlaskClient, kind: str, as_sent: str, said: str) -> None:
    calibration = a_visit(door)

    answer = act(door, calibration, "links", link(kind, as_sent, "A-04"))

    assert (answer.status_code, answer.json["code"]) == (409, "not-to-link")
    assert said in answer.json["detail"]


def test_what_is_released_is_amended_not_linked(client: FlaskClient) -> None:
    calibration = a_visit(client, example() | {"ward": "QG-NEW"})
    release(client, calibration)

    answer = act(client, calibration, "links", link("ward", "QG-NEW", "QG-CDU"))

    assert (answer.json["code"], answer.json["detail"].startswith("It is released already")) == ("not-to-link", True)


def test_what_a_reviewer_held_back_is_not_released_by_a_link(client: FlaskClient) -> None:
    calibration = a_visit(client, example() | {"ward": "QG-XX"})
    act(client, calibration, "review", {"words": "Held back: where is the sheet?"})

    link = {"kind": "ward", "as_sent": "QG-XX", "key": "QG-ED", "because": "Typed wrongly."}
    answer = act(client, calibration, "links", link).json

    assert (answer["flags"], answer["standing"], answer.get("certificate")) == ([], "provisional", None)
    assert "what a reviewer remarked on" in answer["because"]


def test_an_amendment_that_was_linked_still_waits_for_a_person(client: FlaskClient) -> None:
    calibration = send(client, example()).json["calibration"]
    amended(client, calibration, example() | {"ward": "QG-NEW"})

    answer = act(client, calibration, "links", link("ward", "QG-NEW", "QG-CDU")).json

    assert (answer["standing"], answer["flags"], answer["revision"]) == ("provisional", [], 2)
    assert release(client, calibration).json["certificate_revision"] == 2


def test_the_life_tells_who_did_what_when_and_why_in_order(client: FlaskClient) -> None:
    calibration = a_visit(client, example() | {"ward": "QG-NEW"})
    act(client, calibration, "review", {"words": "Which ward is that?"})
    release(client, calibration)
    amended(client, calibration, corrected())
    release(client, calibration)
    act(client, calibration, "void", SENT_TWICE, by="S-02")

    life = client.get(f"/v1/calibrations/{calibration}/life").json

    assert [(c["revision"], c["standing"]) for c in life["contents"]] == [(1, "superseded"), (2, "void")]
    for content in life["contents"]:
        bytes_ = client.get(content["address"])
        assert bytes_.headers["Steelyard-Digest"] == content["digest"]
    of_two = [(e["kind"], e.get("facts", {}).get("standing")) for e in life["events"] if e["revision"] == 2]
    assert of_two == [
        ("arrived", None), ("amended", None), ("judged", None), ("stands", "provisional"), ("stands", "released"),
        ("stands", "void"), ("certificate issued", None),
    ]  # fmt: skip
    said = {(e["kind"], e.get("by_whom"), e["words"]) for e in life["events"]}
    assert {("remark", "S-01", "Which ward is that?"), ("stands", "S-02", SENT_TWICE["because"])} <= said
    assert ("flag answered", "S-01", "Looked at: unknown-ward.") in said
    assert [line["kind"] for line in life["log"]] == [
        "calibration recorded", "calibration remarked on", "calibration released", "calibration amended",
        "calibration released", "calibration void",
    ]  # fmt: skip
    assert all(e["moment"] == NOON.isoformat() for e in life["events"])
