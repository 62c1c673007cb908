"""All faults of a register record at once: what is wrong with one item of a list hides nothing that is wrong beside it."""

from typing import Any

from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from tests.doors import change
from tests.filled_record import TODAY

ON = f"?on={TODAY.isoformat()}"


def a_mass(value: str, unit: str = "kg") -> dict[str, str]:
    return {"value": value, "unit": unit}


def a_range(most: str, d: str = "0.1", e: str = "0.1", **more: Any) -> dict[str, Any]:
    return {"max": a_mass(most), "d": a_mass(d), "e": a_mass(e), **more}


def a_model(client: FlaskClient, *ranges: dict[str, Any], **changed: Any) -> TestResponse:
    taken = client.get(f"/v1/models/COL-200{ON}").json["record"]
    return change(client, "models/COL-200", "2026-01-01", taken | {"ranges": list(ranges)} | changed)


def a_certificate(client: FlaskClient, *pieces: dict[str, Any], **changed: Any) -> TestResponse:
    taken = client.get(f"/v1/weight-certificates{ON}").json["items"][0]["record"]
    record = taken | {"pieces": [taken["pieces"][0] | p for p in pieces]} | changed
    return change(client, f"weight-certificates/{record['number']}", "2026-01-01", record)


def places(answer: TestResponse) -> dict[str, int]:
    """How many faults are told of each place."""
    assert answer.status_code == 422, answer.json
    told = [fault["pointer"] for fault in answer.json["errors"]]
    return {pointer: told.count(pointer) for pointer in told}


def test_ranges_are_told_of_themselves_and_of_each_other(client: FlaskClient) -> None:
    ranges = a_range("200", d="0.3", e="0.5"), a_range("200", d="0.1", e="0.05"), a_range("0")

    answer = a_model(client, *ranges, arrangement="single")

    assert places(answer) == {
        "#/record/ranges/0/d": 1, "#/record/ranges/1/d": 1, "#/record/ranges/1/max": 2, "#/record/ranges/2/max": 2,
    }  # fmt: skip


def test_two_things_wrong_with_the_ranges_together_are_both_told(client: FlaskClient) -> None:
    answer = a_model(client, a_range("200"), a_range("200"), arrangement="single")

    assert places(answer) == {"#/record/ranges/1/max": 2}


def test_pieces_of_a_certificate_are_told_of_themselves_and_of_each_other(client: FlaskClient) -> None:
    wrong = {"as_left": a_mass("0"), "expanded_uncertainty": a_mass("0")}

    answer = a_certificate(client, wrong, wrong, valid_to="1999-01-01")

    assert places(answer) == {
        "#/record/valid_to": 1, "#/record/pieces/0/as_left": 1, "#/record/pieces/0/expanded_uncertainty": 1,
        "#/record/pieces/1/as_left": 1, "#/record/pieces/1/expanded_uncertainty": 1, "#/record/pieces/1/piece": 1,
    }  # fmt: skip


def test_an_uncertainty_of_a_density_that_is_not_given_is_told(client: FlaskClient) -> None:
    taken = client.get(f"/v1/weights/FS1-10{ON}").json["record"]
    without = {name: value for name, value in taken.items() if name != "density_kg_m3"}

    answer = change(client, "weights/FS1-10", "2026-01-01", without | {"density_uncertainty_kg_m3": "140"})

    assert places(answer) == {"#/record/density_uncertainty_kg_m3": 1}


def test_a_weight_is_told_of_its_nominal_and_of_its_class_at_once(client: FlaskClient) -> None:
    taken = client.get(f"/v1/weights/FS1-10{ON}").json["record"]
    wrong = taken | {"nominal": a_mass("0"), "weight_class": "Z9"}

    answer = change(client, "weights/FS1-10", "2026-01-01", wrong)

    assert places(answer) == {"#/record/nominal": 1, "#/record/weight_class": 1}
