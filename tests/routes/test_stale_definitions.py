"""A visit measured by a definition of the scale that was replaced meanwhile: the one in force judges, and where the app's
would have said otherwise, both answers are kept and a person looks.

The example's errors reach 0.1 kg at 150 kg and 200 kg. NIST HB 44 section 2.20 Table 6 allows a scale of class III 2
divisions, here 0.2 kg, from 501 to 2000 of them; a house rule of 50 g does not allow 0.1 kg.
"""

from typing import Any

from flask.testing import FlaskClient

from tests.doors import change, example, send

HOUSE = {"code": "H-FINE", "terms": [{"mass": {"value": "0.05", "unit": "kg"}}], "source": "the owner, for a trial"}


def changed(client: FlaskClient, **fields: Any) -> None:
    """Make revision 2 of the example's scale, in force on the day of its visit."""
    device = client.get("/v1/devices/A-04?on=2026-11-24").json["record"]
    assert change(client, "devices/A-04", "2026-11-24", device | fields).json["number"] == 2


def under_a_finer_rule(client: FlaskClient) -> None:
    assert change(client, "house-rules/H-FINE", "2023-11-21", HOUSE).status_code == 201
    changed(client, tolerance={"scheme": "house", "house_rule": "H-FINE"})


def test_where_the_answers_differ_both_are_kept_and_it_waits_for_a_person(client: FlaskClient) -> None:
    under_a_finer_rule(client)

    receipt = send(client, example() | {"device_revision": 1}).json

    assert (receipt["as_found"], receipt["standing"]) == ("fail", "provisional")
    flag = next(f for f in receipt["flags"] if f["code"] == "stale-definition")
    assert flag["facts"] == {
        "app": "1", "in_force": "2", "as_found_by_app": "pass", "as_left_by_app": "pass", "as_found": "fail",
        "as_left": "fail",
    }  # fmt: skip
    assert "By the app's it is pass as found and pass as left" in flag["sentence"]
    working = client.get(f"/v1/calibrations/{receipt['calibration']}").json["working"]
    assert working["device"]["revision"] == 2
    assert flag in working["flags"]


def test_where_both_say_the_same_it_is_noted_and_released(client: FlaskClient) -> None:
    changed(client, place="by the window")

    receipt = send(client, example() | {"device_revision": 1}).json

    assert (receipt["flags"], receipt["standing"]) == ([], "released")
    (note,) = [n for n in receipt["notes"] if n["code"] == "stale-definition"]
    assert note["facts"] == {"app": "1", "in_force": "2"}


def test_an_app_that_was_ahead_of_the_day_is_judged_by_the_day(client: FlaskClient) -> None:
    under_a_finer_rule(client)
    day_before = {"performed": {"start": "2026-11-23T10:09:00-07:00", "end": "2026-11-23T10:56:00-07:00"}}

    receipt = send(client, example() | day_before | {"device_revision": 2}).json

    flag = next(f for f in receipt["flags"] if f["code"] == "stale-definition")
    assert (receipt["as_found"], flag["facts"]["as_found_by_app"]) == ("pass", "fail")


def test_a_revision_that_is_on_no_register_cannot_be_compared_and_is_flagged(client: FlaskClient) -> None:
    receipt = send(client, example() | {"device_revision": 7}).json

    (flag,) = receipt["flags"]
    assert (flag["code"], flag["facts"]) == ("stale-definition", {"app": "7", "in_force": "1"})


def test_the_revision_in_force_and_none_at_all_are_neither_flagged_nor_noted(client: FlaskClient) -> None:
    for sent in (example(), example() | {"device_revision": 1, "purpose": "audit"}):
        receipt = send(client, sent).json
        assert "stale-definition" not in str(receipt)
