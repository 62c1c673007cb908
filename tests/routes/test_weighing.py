"""Weighing and corners over HTTP: what a reading may look like, and problems with facts and a way out."""

import pytest
from flask.testing import FlaskClient

from tests.doors import an_id, example, send
from tests.filled_record import TODAY

ON = {"on": TODAY.isoformat()}


def test_a_reading_is_answered_in_its_own_unit_or_another(door: FlaskClient) -> None:
    assert send(door, example(), an_id()).status_code == 201
    tag = example()["device"]

    kilograms, grams = (
        door.get(f"/v1/devices/{tag}/weighing", query_string=ON | {"reading": text}).json
        for text in ("70.5 kg", "70500 g")
    )

    assert kilograms["readings"][0]["expanded_kg"] == grams["readings"][0]["expanded_kg"]
    assert len(kilograms["readings"]) == 1
    assert len(kilograms["readings"][0]["contributions"]) >= 4


@pytest.mark.parametrize("text", ["70.5", "70.5kg", "-1 kg", "1e2 kg", "70.5 lb", " kg", "70,5 kg", ""])
def test_a_reading_that_is_none_is_refused_with_what_would_be(door: FlaskClient, text: str) -> None:
    answer = door.get("/v1/devices/A-04/weighing", query_string=ON | {"reading": text})

    assert (answer.status_code, answer.json["code"]) == (400, "bad-question")
    assert "70.5 kg" in answer.json["errors"][0]["detail"]


@pytest.mark.parametrize("question", ["weighing", "corners"])
def test_a_scale_that_was_never_measured_is_a_problem_that_says_what_would_help(
    door: FlaskClient, question: str
) -> None:
    answer = door.get(f"/v1/devices/E-04/{question}", query_string=ON)

    assert (answer.status_code, answer.json["code"]) == (422, "nothing-to-compute-from")
    assert answer.json["facts"]["device"] == "E-04"
    assert "would" in answer.json["detail"]


@pytest.mark.parametrize("question", ["weighing", "corners"])
def test_a_scale_that_is_not_on_the_register_is_not_found(door: FlaskClient, question: str) -> None:
    answer = door.get(f"/v1/devices/Z-99/{question}", query_string=ON)

    assert (answer.status_code, answer.json["code"]) == (404, "not-on-record")
