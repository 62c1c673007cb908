"""Labels over HTTP: kept once under the id that their record makes, right as long as it is, drawn only then."""

import json
from typing import Any
from xml.etree import ElementTree

import pytest
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from api.ledger.label_ids import label_id
from api.routes.labels import ENDED, STUCK
from tests.doors import JSON, an_id, example, later, send
from tests.lives import act, amendment, kept, release

ON = "2026-11-25"


@pytest.fixture
def record(client: FlaskClient) -> str:
    """Give the id of a calibration of A-04 that passed and was released."""
    calibration = an_id()
    assert send(client, example(), calibration).json["standing"] == "released"
    return calibration


def stick(client: FlaskClient, calibration: str, named: str | None = None, **more: Any) -> TestResponse:
    body = STUCK | {"calibration": calibration} | more
    named = named or label_id("QG", calibration, more.get("place", 1))
    return client.put(f"/v1/labels/{named}", data=json.dumps(body), headers=JSON)


def told(client: FlaskClient, named: str, **more: Any) -> TestResponse:
    return client.put(f"/v1/labels/{named}/events/{an_id()}", data=json.dumps(ENDED | more), headers=JSON)


def read(client: FlaskClient, named: str, on: str = ON) -> Any:
    return client.get(f"/v1/labels/{named}?on={on}").json


def codes(label: Any) -> list[str]:
    return [reason["code"] for reason in label["why"]]


def test_a_label_is_kept_under_the_id_its_record_makes_and_is_right(client: FlaskClient, record: str) -> None:
    stuck = stick(client, record)

    label = stuck.json["label"]
    assert (stuck.status_code, stuck.json["replayed"], label["right"], label["why"]) == (201, False, True, [])
    assert (label["address"], label["old_label"]) == ("d/a-04/", {"was": "removed"})
    typed = label["label"].lower().replace("-", "")
    assert read(client, typed)["label"] == label["label"]


def test_the_same_label_again_changes_nothing_and_other_words_under_its_id_are_refused(
    client: FlaskClient, record: str
) -> None:
    first = stick(client, record)

    again, other = stick(client, record), stick(client, record, by="T-02")

    assert (again.status_code, again.json["replayed"], again.json["log_number"]) == (
        200,
        True,
        first.json["log_number"],
    )
    assert (other.status_code, other.json["code"], other.json["pointers"]) == (409, "content-differs", ["#/by"])


def test_an_id_that_is_mistyped_or_of_another_record_is_refused_with_the_right_one(
    client: FlaskClient, record: str
) -> None:
    mistyped = stick(client, record, "M2M0-1MJN-YYPD")
    of_another = stick(client, record, label_id("QG", an_id()))

    assert (mistyped.status_code, mistyped.json["code"]) == (422, "label-not-of-record")
    assert of_another.json["facts"]["expected"] == label_id("QG", record)


def test_a_label_may_arrive_before_its_record(client: FlaskClient) -> None:
    calibration = an_id()

    early = stick(client, calibration).json["label"]
    send(client, example(), calibration)

    assert codes(early) == ["record-not-here"]
    assert read(client, early["label"])["right"] is True


def test_a_label_that_says_more_than_its_record_is_kept_and_told(client: FlaskClient, record: str) -> None:
    label = stick(client, record, up_to={"value": "900", "unit": "kg"}).json["label"]

    assert codes(label) == ["beyond-proof"]


def test_a_newer_visit_ends_an_older_label(client: FlaskClient, record: str) -> None:
    label = stick(client, record).json["label"]["label"]
    newer = example() | {"performed": {"start": "2026-11-25T02:00:00-07:00", "end": "2026-11-25T02:40:00-07:00"}}

    send(client, newer)

    assert codes(read(client, label)) == ["newer-visit"]


def test_a_void_label_is_no_longer_right_and_one_printed_again_still_is(client: FlaskClient, record: str) -> None:
    label = stick(client, record).json["label"]["label"]

    again = told(client, label, kind="printed again", reason="it was torn")
    assert (again.status_code, again.json["label"]["right"]) == (201, True)
    void = told(client, label)

    assert codes(void.json["label"]) == ["void"]
    assert {event["kind"] for event in read(client, label)["events"]} == {"printed again", "void"}


def test_a_label_that_a_newer_one_names_as_taken_off_is_no_longer_right(client: FlaskClient, record: str) -> None:
    old = stick(client, record).json["label"]["label"]

    new = stick(client, record, place=2, old_label={"was": "removed", "id": old.lower()}).json["label"]

    assert new["right"] is True
    assert codes(read(client, old)) == ["removed"]


def test_an_old_label_that_stays_on_the_scale_is_flagged(client: FlaskClient, record: str) -> None:
    label = stick(client, record, old_label={"was": "could not be removed"}).json["label"]

    assert [flag["code"] for flag in label["flags"]] == ["old-label-left"]


def test_the_labels_of_a_device_are_listed_newest_first(client: FlaskClient, record: str) -> None:
    stick(client, record)
    stick(client, record, place=2, stuck_at="2026-11-24T12:00:00-07:00")

    items = client.get(f"/v1/devices/A-04/labels?on={ON}").json["items"]

    assert [item["label"] for item in items] == [label_id("QG", record, 2), label_id("QG", record)]
    assert client.get(f"/v1/devices/A-01/labels?on={ON}").json["items"] == []


@pytest.mark.parametrize(("more", "pointer"), [
    ({"says": "calibrated"}, "#/up_to"),
    ({"says": "do not use", "due": "2027-11-24"}, "#/due"),
    ({"up_to": {"value": "0", "unit": "kg"}}, "#/up_to"),
    ({"place": 0}, "#/place"),
])  # fmt: skip
def test_a_label_that_contradicts_itself_is_refused(
    client: FlaskClient, record: str, more: dict[str, Any], pointer: str
) -> None:
    answer = stick(client, record, label_id("QG", record), **more)

    assert answer.status_code == 422
    assert pointer in [fault["pointer"] for fault in answer.json["errors"]]


def test_a_right_label_is_drawn_with_what_it_says(client: FlaskClient, record: str) -> None:
    label = stick(client, record).json["label"]["label"]

    answer = client.get(f"/v1/labels/{label}/drawing.svg")

    assert (answer.status_code, answer.mimetype) == (200, "image/svg+xml")
    drawing = ElementTree.fromstring(answer.data)
    said = [element.text for element in drawing.iter("{http://www.w3.org/2000/svg}text")]
    assert said[:3] == ["Use up to 50 kg only", "A-04", "Tested 24 Nov 2026 by T-01"]
    assert said[-1] == f"{label}  d/a-04/"
    assert "href" not in answer.text
    assert "default-src" in answer.headers["Content-Security-Policy"]


def test_a_label_that_is_not_right_is_not_drawn(client: FlaskClient, record: str) -> None:
    label = stick(client, record).json["label"]["label"]
    told(client, label)

    answer = client.get(f"/v1/labels/{label}/drawing.svg")

    assert (answer.status_code, answer.json["code"], answer.json["facts"]["why"]) == (409, "label-not-right", "void")


def test_what_must_not_be_used_says_so_and_what_to_do(client: FlaskClient) -> None:
    calibration, body = an_id(), example()
    for reading in body["as_found"]["readings"]:
        if reading["test"] == "increasing" and reading.get("pieces"):
            reading["indication"]["value"] = f"{float(reading['indication']['value']) + 5:.1f}"
    assert send(client, body, calibration).json["as_left"] == "fail"
    day = body["performed"]["start"][:10]
    sent = {k: v for k, v in STUCK.items() if k != "up_to"} | {
        "calibration": calibration, "says": "do not use", "device": body["device"], "tested_on": day, "site": body["site"],
    }  # fmt: skip
    named = label_id(body["site"], calibration)
    stuck = client.put(f"/v1/labels/{named}", data=json.dumps(sent), headers=JSON)
    assert stuck.json["label"]["right"] is True

    drawn = client.get(f"/v1/labels/{named}/drawing.svg").text

    assert "DO NOT USE" in drawn
    assert "Tag it, take it away, tell a person." in drawn


def test_a_label_of_a_record_that_was_made_void_or_amended_is_no_longer_right(client: FlaskClient) -> None:
    void, changed = an_id(), an_id()
    labels = {}
    for hours, calibration in enumerate((changed, void)):
        send(client, later(example(), hours), calibration)
        labels[calibration] = stick(client, calibration).json["label"]["label"]

    act(client, void, "void", {"because": "It was sent for the wrong scale."})
    content = example() | {"remarks": "cleaned before"}
    act(client, changed, "amendments", amendment(kept(client, changed), content))
    waits = read(client, labels[changed])
    release(client, changed)

    assert codes(read(client, labels[void])) == ["record-void"]
    assert codes(waits) == []
    assert codes(read(client, labels[changed])) == ["record-superseded"]
