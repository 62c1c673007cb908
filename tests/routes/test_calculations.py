"""Calculations over the web: the same answers as the command's, nothing kept, nonsense refused with a sentence."""

import json
from copy import deepcopy
from typing import Any

import pytest
from flask.testing import FlaskClient
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from api.metrology.calculations.table import CALCULATIONS, OF_NAME
from api.settings import Settings
from tests.computing import computed, refused
from tests.filled_record import rows

CONTRIBUTION = {"name": "a", "standard_uncertainty": "1"}
CONFORMITY = {"value": "0.1", "standard_uncertainty": "0.05", "lower": "-0.2", "upper": "0.2"}
RISK = dict(OF_NAME["risk"].example)
AIR = dict(OF_NAME["air-density"].example)
TOLERANCE = dict(OF_NAME["tolerance"].example)
CHANGE_OVER = dict(OF_NAME["change-over"].example)
IN_USE = {"alpha": "0.0004", "beta": "0.00001", "requirement": "0.001"}


def without(question: dict[str, Any], *names: str) -> dict[str, Any]:
    return {name: value for name, value in question.items() if name not in names}


def budget(*parts: dict[str, Any], **more: Any) -> dict[str, Any]:
    return {"contributions": list(parts)} | more


# Question, where the fault is pointed at, and a word its sentence has.
NONSENSE: list[tuple[str, dict[str, Any], str, str]] = [
    ("uncertainty", budget(), "#/contributions", "a list of 1 to 500"),
    (
        "uncertainty",
        budget(CONTRIBUTION | {"standard_uncertainty": "-1"}),
        "#/contributions/0/standard_uncertainty",
        "from 0",
    ),
    ("uncertainty", budget({"name": "a", "half_width": "1"}), "#/contributions/0", "distribution: Missing"),
    (
        "uncertainty",
        budget({"name": "a", "half_width": "1", "distribution": "normal"}),
        "#/contributions/0",
        "k: Missing",
    ),
    (
        "uncertainty",
        budget({"name": "a", "half_width": "1", "distribution": "uniform"}),
        "#/contributions/0/distribution",
        "rectangular",
    ),
    (
        "uncertainty",
        budget({"name": "a", "half_width": "1", "distribution": "arcsine", "k": "2"}),
        "#/contributions/0/k",
        "Out of place",
    ),
    ("uncertainty", budget({"name": "a"}), "#/contributions/0", "standard_uncertainty: Missing"),
    (
        "uncertainty",
        budget(CONTRIBUTION | {"half_width": "1", "distribution": "rectangular"}),
        "#/contributions/0/half_width",
        "exactly one",
    ),
    (
        "uncertainty",
        budget(CONTRIBUTION | {"distribution": "normal"}),
        "#/contributions/0/distribution",
        "without half_width",
    ),
    (
        "uncertainty",
        budget(CONTRIBUTION | {"degrees_of_freedom": "0"}),
        "#/contributions/0/degrees_of_freedom",
        "above 0",
    ),
    ("uncertainty", budget({"name": "a", "readings": ["1", "2", "x"]}), "#/contributions/0/readings/2", "a number"),
    (
        "uncertainty",
        budget({"name": "a", "readings": [1, 2, 3], "degrees_of_freedom": 9}),
        "#/contributions/0/degrees_of_freedom",
        "n - 1",
    ),
    ("uncertainty", budget(CONTRIBUTION | {"mean": True}), "#/contributions/0/mean", "readings"),
    ("uncertainty", budget(CONTRIBUTION, coverage={"k": "2", "probability": "0.95"}), "#/coverage/k", "exactly one"),
    ("uncertainty", budget(CONTRIBUTION, coverage={}), "#/coverage", "Missing"),
    ("uncertainty", budget(CONTRIBUTION, coverage={"k": "0"}), "#/coverage/k", "above 0"),
    ("uncertainty", budget(CONTRIBUTION, coverage={"k": "-2"}), "#/coverage/k", "above 0"),
    ("uncertainty", budget(CONTRIBUTION, coverage={"probability": "1"}), "#/coverage/probability", "0.999999"),
    ("uncertainty", budget(CONTRIBUTION, coverage={"probability": "NaN"}), "#/coverage/probability", "a number"),
    (
        "uncertainty",
        budget(CONTRIBUTION | {"standard_uncertainty": "Infinity"}),
        "#/contributions/0/standard_uncertainty",
        "a number",
    ),
    (
        "uncertainty",
        budget(CONTRIBUTION | {"standard_uncertainty": True}),
        "#/contributions/0/standard_uncertainty",
        "a number",
    ),
    (
        "uncertainty",
        budget(CONTRIBUTION | {"standard_uncertainty": None}),
        "#/contributions/0/standard_uncertainty",
        "leave the field out",
    ),
    ("uncertainty", budget(CONTRIBUTION | {"colour": "blue"}), "#/contributions/0/colour", "Unknown field"),
    ("conformity", CONFORMITY | {"lower": "0.3"}, "#/lower", "above the upper limit"),
    ("conformity", without(CONFORMITY, "lower", "upper"), "#", "one limit at least"),
    ("conformity", CONFORMITY | {"standard_uncertainty": "-0.05"}, "#/standard_uncertainty", "from 0"),
    ("conformity", CONFORMITY | {"expanded": "0.1", "k": "2"}, "#/expanded", "exactly one"),
    ("conformity", without(CONFORMITY, "standard_uncertainty") | {"expanded": "0.1"}, "#", "k: Missing"),
    ("conformity", without(CONFORMITY, "standard_uncertainty"), "#", "standard_uncertainty: Missing"),
    ("conformity", CONFORMITY | {"k": "0"}, "#/k", "above 0"),
    ("conformity", CONFORMITY | {"guard_band": {"risk": "0.7"}}, "#/guard_band/risk", "0.5"),
    ("conformity", CONFORMITY | {"guard_band": {"risk": "0"}}, "#/guard_band/risk", "above 0"),
    ("conformity", CONFORMITY | {"guard_band": {"risk": "0.05", "r": "1"}}, "#/guard_band/risk", "exactly one"),
    ("conformity", CONFORMITY | {"guard_band": {}}, "#/guard_band", "Missing"),
    ("conformity", CONFORMITY | {"guard_band": {"r": "-1", "zones": "four"}}, "#/guard_band/r", "0 or more"),
    ("conformity", CONFORMITY | {"value": {"value": "0.1", "unit": "kg"}}, "#/value", "a number"),
    ("risk", RISK | {"standard_deviation": "0"}, "#/standard_deviation", "above 0"),
    ("risk", RISK | {"standard_uncertainty": "-1"}, "#/standard_uncertainty", "above 0"),
    ("risk", RISK | {"lower": "1501"}, "#/lower", "above the upper limit"),
    ("risk", RISK | {"guard_band": {"r": "1", "zones": "four"}}, "#/guard_band/zones", "leave it out"),
    ("air-density", AIR | {"relative_humidity_pct": "140"}, "#/relative_humidity_pct", "to 100"),
    ("air-density", AIR | {"pressure_hpa": "101325"}, "#/pressure_hpa", "to 1100"),
    ("air-density", AIR | {"temperature_c": "293"}, "#/temperature_c", "to 60"),
    ("air-density", without(AIR, "temperature_c"), "#", "temperature_c: Missing"),
    ("air-density", {"formula": "height"}, "#", "height_m: Missing"),
    ("air-density", AIR | {"height_m": "100"}, "#/height_m", "Out of place"),
    ("gravity", {"latitude_deg": "95", "height_m": "0", "formula": "wgs84"}, "#/latitude_deg", "to 90"),
    ("gravity", {"latitude_deg": "45", "height_m": "90000", "formula": "wgs84"}, "#/height_m", "to 9000"),
    ("gravity", {"latitude_deg": "45", "formula": "newton"}, "#/formula", "grs80"),
    ("relocation", {"load": {"value": "1", "unit": "kg"}, "g_from": "9.81", "g_to": "1.62"}, "#/g_to", "from 9.7"),
    ("relocation", {"load": {"value": "-1", "unit": "kg"}, "g_from": "9.81", "g_to": "9.8"}, "#/load", "0 or more"),
    (
        "relocation",
        {
            "load": {"value": "1", "unit": "kg"},
            "g_from": "9.81",
            "g_from_standard_uncertainty": "0.001",
            "g_to": {"latitude_deg": "95", "formula": "wgs84"},
        },
        "#/g_to/latitude_deg",
        "to 90",
    ),
    (
        "relocation",
        {
            "load": {"value": "1", "unit": "kg"},
            "g_from": "9.81",
            "g_to_standard_uncertainty": "0.001",
            "g_to": {"latitude_deg": "45", "formula": "wgs84"},
        },
        "#/g_to_standard_uncertainty",
        "Out of place",
    ),
    ("buoyancy", dict(OF_NAME["buoyancy"].example) | {"density_kg_m3": "0"}, "#/density_kg_m3", "from 10"),
    ("buoyancy", dict(OF_NAME["buoyancy"].example) | {"nominal": "10000"}, "#/nominal", '"unit"'),
    ("conventional-mass", {"mass": {"value": "0", "unit": "kg"}, "density_kg_m3": "8000"}, "#/mass", "above 0"),
    ("minimum-weight", {}, "#", "standard_deviation and division, or alpha"),
    ("minimum-weight", {"standard_deviation": "0.1"}, "#", "division: Missing"),
    ("minimum-weight", {"standard_deviation": "-0.1", "division": "0.1"}, "#/standard_deviation", "0 or more"),
    ("minimum-weight", {"standard_deviation": "0.1", "division": "0"}, "#/division", "above 0"),
    ("minimum-weight", {"standard_deviation": "0.1", "division": "0.1"} | IN_USE, "#/alpha", "Out of place"),
    ("minimum-weight", without(IN_USE, "beta"), "#", "beta: Missing"),
    ("minimum-weight", IN_USE | {"safety_factor": "0"}, "#/safety_factor", "from 1"),
    ("change-over", CHANGE_OVER | {"e": {"value": "0", "unit": "g"}}, "#/e", "above 0"),
    ("change-over", CHANGE_OVER | {"added": {"value": "-1", "unit": "g"}}, "#/added", "0 or more"),
    ("convert", {"value": "1", "unit": "lb", "to": "kg"}, "#/unit", "[lb_av]"),
    ("convert", {"value": "1", "unit": "kg", "to": "furlong"}, "#/to", "UCUM"),
    ("tolerance", TOLERANCE | {"ranges": []}, "#/ranges", "a list of 1"),
    ("tolerance", TOLERANCE | {"ranges": [{"max": "300", "d": "0", "e": "0.1"}]}, "#/ranges/0/d", "above 0"),
    ("tolerance", TOLERANCE | {"ranges": [{"max": "3", "d": "1", "e": "1"}] * 2}, "#/ranges/1/max", "ascending"),
    ("tolerance", TOLERANCE | {"load": {"value": "-1", "unit": "kg"}}, "#/load", "0 or more"),
    ("tolerance", TOLERANCE | {"accuracy_class": "V"}, "#/accuracy_class", "IIII"),
]

# Right in shape, and a rule of the trade says no: question, and the refusal's own code.
REFUSED: list[tuple[str, dict[str, Any], str]] = [
    ("tolerance", TOLERANCE | {"stage": "initial"}, "bad-rule"),
    ("tolerance", TOLERANCE | {"edition": "1899"}, "bad-rule"),
    ("tolerance", TOLERANCE | {"load": "300.1"}, "over-capacity"),
    ("tolerance", TOLERANCE | {"range_in_use": 2}, "no-such-range"),
    ("tolerance", TOLERANCE | {"scheme": "r76", "stage": "initial", "accuracy_class": "IIIL"}, "no-table-value"),
    ("tolerance", TOLERANCE | {"scheme": "r76", "stage": "initial", "accuracy_class": "IIII"}, "no-table-value"),
    ("uncertainty", budget({"name": "a", "readings": ["1", "2"]}), "too-few-readings"),
    ("conformity", CONFORMITY | {"guard_band": {"r": "3"}}, "empty-acceptance-zone"),
    ("risk", RISK | {"guard_band": "0.3"}, "empty-acceptance-zone"),
    ("minimum-weight", IN_USE | {"beta": "0.001"}, "no-minimum-weight"),
    ("minimum-weight", {"standard_deviation": "0.1", "division": {"value": "1", "unit": "g"}}, "mixed-units"),
    ("change-over", CHANGE_OVER | {"added": {"value": "6", "unit": "g"}}, "no-change-over"),
]


@pytest.mark.parametrize("kind", sorted(OF_NAME))
def test_both_doors_give_the_example_of_the_contract_the_answer_that_stands_there(door: FlaskClient, kind: str) -> None:
    described = door.get("/v1/openapi.json").json["paths"][f"/v1/calculations/{kind}"]["post"]
    example = described["requestBody"]["content"]["application/json"]["example"]
    answered = described["responses"]["200"]["content"]["application/json"]["example"]

    found = door.post(f"/v1/calculations/{kind}", json=example)

    assert found.status_code == 200
    assert found.json == answered == computed(kind, example)


@pytest.mark.parametrize(
    ("kind", "question", "pointer", "words"), NONSENSE, ids=[f"{n[0]} {n[2]} {n[3]}" for n in NONSENSE]
)
def test_nonsense_is_refused_where_it_stands_with_what_would_be_accepted(
    door: FlaskClient, kind: str, question: dict[str, Any], pointer: str, words: str
) -> None:
    found = door.post(f"/v1/calculations/{kind}", json=question)

    assert (found.status_code, found.json["code"]) == (422, "wrong-shape")
    assert any(e["pointer"] == pointer and words in e["detail"] for e in found.json["errors"]), found.json["errors"]


@pytest.mark.parametrize(("kind", "question", "code"), REFUSED, ids=[f"{r[0]} {r[2]}" for r in REFUSED])
def test_what_the_trade_refuses_is_422_with_the_refusal_s_own_code(
    door: FlaskClient, kind: str, question: dict[str, Any], code: str
) -> None:
    found = door.post(f"/v1/calculations/{kind}", json=question)

    assert (found.status_code, found.json["code"]) == (422, "refused")
    assert [(e["pointer"], e["code"]) for e in found.json["errors"]] == [("#", code)]
    assert found.json["errors"][0]["detail"] == found.json["detail"]


@pytest.mark.parametrize(
    ("kind", "question"), [(r[0], r[1]) for r in (NONSENSE[0], NONSENSE[23], NONSENSE[-1], REFUSED[0], REFUSED[-1])]
)
def test_both_doors_refuse_with_the_same_problem(door: FlaskClient, kind: str, question: dict[str, Any]) -> None:
    by_web, by_command = door.post(f"/v1/calculations/{kind}", json=question).json, refused(kind, question)

    assert without(by_web, "instance") == without(by_command, "instance")


def test_all_faults_of_a_question_come_at_once(door: FlaskClient) -> None:
    question = budget(
        {"name": "", "standard_uncertainty": "-1"}, {"half_width": "x"}, coverage={"k": "-1"}, colour="blue"
    )

    found = door.post("/v1/calculations/uncertainty", json=question)

    assert {e["pointer"] for e in found.json["errors"]} == {
        "#/contributions/0/name",
        "#/contributions/0/standard_uncertainty",
        "#/contributions/1",
        "#/contributions/1/half_width",
        "#/coverage/k",
        "#/colour",
    }


def test_an_unknown_kind_is_404_and_lists_the_kinds(door: FlaskClient) -> None:
    found = door.post("/v1/calculations/weight-loss", json={})

    assert (found.status_code, found.json["code"]) == (404, "not-found")
    assert all(calculation.name in found.json["detail"] for calculation in CALCULATIONS)


def test_a_question_parameter_is_refused(door: FlaskClient) -> None:
    found = door.post("/v1/calculations/convert?to=kg", json=dict(OF_NAME["convert"].example))

    assert (found.status_code, found.json["code"]) == (422, "bad-question")


def test_numbers_are_taken_as_text_and_as_plain_json_numbers_alike(door: FlaskClient) -> None:
    texts = {"value": "0.10", "standard_uncertainty": "0.05", "lower": "-0.2", "upper": "0.2"}
    body = '{"value": 0.10, "standard_uncertainty": 0.05, "lower": -0.2, "upper": 0.2}'

    by_text = door.post("/v1/calculations/conformity", json=texts)
    by_number = door.post("/v1/calculations/conformity", data=body, headers={"Content-Type": "application/json"})

    assert by_number.json == by_text.json
    assert by_number.json["decided_on"]["value"] == "0.10"


def test_nothing_is_kept_of_a_question(door: FlaskClient, kept: Settings) -> None:
    before = rows(kept)

    for calculation in CALCULATIONS:
        door.post(f"/v1/calculations/{calculation.name}", json=dict(calculation.example))

    assert rows(kept) == before


NUMBERS = st.one_of(
    st.sampled_from(
        ["0", "-0", "0.0", "1", "-1", "999999999999999", "0.0000000000000000000000001", "NaN", "2", "0.5", 0, 1]
    ),
    st.decimals(allow_nan=False, allow_infinity=False, places=4, min_value=-1000, max_value=1000).map(str),
)
JUNK = st.one_of(
    NUMBERS,
    st.none(),
    st.booleans(),
    st.text(max_size=8),
    st.just({}),
    st.just([]),
    st.just([1, 2, 3]),
    st.builds(lambda v, u: {"value": v, "unit": u}, NUMBERS, st.sampled_from(["kg", "g", "[oz_av]", "lb"])),
    st.sampled_from(
        ["hb44", "r76", "initial", "in-service", "I", "IIIL", "four", "height", "grs80", "normal", "mg", "[oz_av]"]
    ),
)


def places(question: Any) -> list[tuple[Any, Any]]:
    items = (
        question.items() if isinstance(question, dict) else enumerate(question) if isinstance(question, list) else ()
    )
    return [found for name, value in items for found in ((question, name), *places(value))]


FIELDS = sorted({name for c in CALCULATIONS for _, name in places(dict(c.example)) if isinstance(name, str)})


@settings(
    max_examples=400, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(st.data(), st.sampled_from(CALCULATIONS))
def test_a_mutated_question_is_answered_with_finite_numbers_or_refused_never_a_fault(
    door: FlaskClient, data: st.DataObject, calculation: Any
) -> None:
    question = deepcopy(dict(calculation.example))
    for _ in range(data.draw(st.integers(1, 3))):
        holder, name = data.draw(st.sampled_from(places(question)))
        holder[name] = deepcopy(data.draw(JUNK))
    if data.draw(st.booleans()):
        question[data.draw(st.sampled_from(FIELDS))] = deepcopy(data.draw(JUNK))

    found = door.post(f"/v1/calculations/{calculation.name}", json=question)

    assert found.status_code in (200, 400, 422), found.json
    if found.status_code == 200:
        assert "null" not in found.get_data(as_text=True)  # what is not finite would be written so
        assert json.loads(found.data, parse_constant=pytest.fail)
