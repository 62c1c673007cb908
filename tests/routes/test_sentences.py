"""What the sentence of a fault says: the unit that is meant, the name that is meant, what was found, cut where it is long."""

import json
from time import perf_counter
from typing import Any

import pytest
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from tests.doors import JSON, example, reading_of, send
from tests.filled_record import TODAY

HINTS = [
    ("lb", "[lb_av]"),
    ("lbs", "[lb_av]"),
    ("oz", "[oz_av]"),
    ("st", "[stone_av]"),
    ("Kg", "kg"),
    ("Lbs", "[lb_av]"),
]


def told(answer: TestResponse, pointer: str) -> str:
    """What an answer says of one place."""
    assert answer.status_code == 422, answer.json
    (fault,) = [e for e in answer.json["errors"] if e["pointer"] == pointer]
    said: str = fault["detail"]
    return said


def a_visit_with(**fields: Any) -> dict[str, Any]:
    return example() | fields


@pytest.mark.parametrize(("written", "meant"), HINTS)
def test_the_unit_that_is_meant_is_named_in_a_mass(door: FlaskClient, written: str, meant: str) -> None:
    body = example()
    reading_of(body, "increasing")["indication"]["unit"] = written

    said = told(send(door, body), "#/as_found/readings/3/indication/unit")

    assert said.startswith(f"'{written}' is not a unit code used here. Did you mean {meant}? Accepted: kg,")


@pytest.mark.parametrize(("written", "meant"), HINTS)
def test_the_unit_that_is_meant_is_named_in_a_part_of_a_compound_display(
    door: FlaskClient, written: str, meant: str
) -> None:
    body = example()
    reading_of(body, "increasing")["indication"] = {
        "parts": [{"value": "1", "unit": "[stone_av]"}, {"value": "1", "unit": written}]
    }

    assert f"Did you mean {meant}?" in told(send(door, body), "#/as_found/readings/3/indication/parts/1/unit")


@pytest.mark.parametrize(("written", "meant"), HINTS)
def test_the_unit_that_is_meant_is_named_in_the_configuration(door: FlaskClient, written: str, meant: str) -> None:
    answer = send(door, a_visit_with(configuration={"before": {"unit": written}}))

    said = told(answer, "#/configuration/before/unit")
    assert f"Did you mean {meant}?" in said
    assert "compound" in said
    assert [e["code"] for e in answer.json["errors"]] == ["unit-unknown"]


@pytest.mark.parametrize(("pointer", "body", "said"), [
    ("#/remark", a_visit_with(remark="x"), "Unknown field. Did you mean remarks?"),
    ("#/performed/ends", a_visit_with(performed={"start": "2026-11-24T10:09:00Z", "ends": "2026-11-24T10:09:00Z"}),
     "Unknown field. Did you mean end?"),
    ("#/performed/colour", a_visit_with(performed=example()["performed"] | {"colour": 1}),
     "Unknown field. Accepted: start, end."),
    ("#/configuration/before/capacity/units",
     a_visit_with(configuration={"before": {"capacity": {"value": "200", "units": "kg"}}}),
     "Unknown field. Did you mean unit?"),
    ("#/configuration/before/capacity/unit",
     a_visit_with(configuration={"before": {"capacity": {"parts": [{"value": "1", "unit": "[lb_av]"},
                                                                  {"value": "1", "unit": "[oz_av]"}], "unit": "kg"}}}),
     "Unknown field. Accepted: parts."),
])  # fmt: skip
def test_an_unknown_field_is_told_with_the_nearest_name_or_with_all_names(
    door: FlaskClient, pointer: str, body: Any, said: str
) -> None:
    assert told(send(door, body), pointer) == said


def test_a_name_that_is_given_already_is_not_what_was_meant(door: FlaskClient) -> None:
    said = told(send(door, a_visit_with(devices="A-04")), "#/devices")

    assert "Did you mean device?" not in said
    assert "device" in said


def test_an_unknown_field_of_the_register_and_of_a_job_is_told_with_the_nearest_name(door: FlaskClient) -> None:
    ward = door.get(f"/v1/wards/QG-CDU?on={TODAY.isoformat()}").json["record"]
    change = {"valid_from": "2026-01-01", "record": ward | {"magnetzone": True}, "recod": 1}

    answer = door.put("/v1/wards/QG-CDU", json=change)
    job = door.post("/v1/jobs", json={"kinds": "publish"})

    assert told(answer, "#/record/magnetzone").startswith("Unknown field. Accepted: code, site,")
    assert told(answer, "#/recod") == "Unknown field. Accepted: valid_from, record."
    assert told(job, "#/kinds") == "Unknown field. Did you mean kind?"


def test_thousands_of_unknown_fields_are_refused_quickly(door: FlaskClient) -> None:
    body = example()
    for reading in body["as_found"]["readings"]:
        reading |= {f"indicatiom{n}": 1 for n in range(400)}
    started = perf_counter()

    answer = send(door, body)

    assert (answer.status_code, len(answer.json["errors"])) == (422, 100)
    assert perf_counter() - started < 1


@pytest.mark.parametrize(("body", "found"), [
    ("[]", "a list"), ('"text"', "text"), ("5", "a number"), ("0.5", "a number"), ("null", "null"), ("true", "true"),
])  # fmt: skip
@pytest.mark.parametrize("address", ["calibrations/0193f0aa-0000-7000-8000-0000000000b1", "wards/QG-CDU"])
def test_a_body_that_is_no_object_is_told_what_it_is(door: FlaskClient, address: str, body: str, found: str) -> None:
    answer = door.put(f"/v1/{address}", data=body, headers=JSON)

    assert told(answer, "#") == f"Found {found}; accepted: an object."


@pytest.mark.parametrize("found", [[], "text", 5, True])
def test_a_part_of_the_body_that_is_no_object_is_told_what_it_is(door: FlaskClient, found: Any) -> None:
    said = told(send(door, a_visit_with(performed=found)), "#/performed")

    kind = {list: "a list", str: "text", int: "a number", bool: "true"}[type(found)]
    assert said == f"Found {kind}; accepted: an object."


@pytest.mark.parametrize("field", ["value", "unit", "test", "at", "whole text"])
def test_a_long_text_is_cut_where_it_is_told_and_its_quote_is_closed(door: FlaskClient, field: str) -> None:
    body, nines = example(), "9" * 500
    reading = reading_of(body, "increasing")
    if field in ("value", "unit"):
        reading["indication"][field] = nines
    else:
        reading.update({"indication": nines} if field == "whole text" else {field: nines})

    (fault,) = send(door, body).json["errors"]

    assert f"'{'9' * 60}…' (500 characters)" in fault["detail"]
    assert len(fault["detail"]) < 420


def test_a_number_of_500_digits_is_cut_where_it_is_told(door: FlaskClient) -> None:
    body = json.dumps(example()).replace('"value": "50.0"', f'"value": 0.{"9" * 500}', 1)

    answer = send(door, body.encode())

    assert answer.status_code == 400
    assert answer.json["detail"].startswith(f"0.{'9' * 30}… (502 characters) is a number")


def test_a_long_value_in_a_question_is_cut_and_its_quote_is_closed(door: FlaskClient) -> None:
    (fault,) = door.get(f"/v1/devices?on={'9' * 500}").json["errors"]

    assert f"'{'9' * 60}…' (500 characters); accepted" in fault["detail"]
