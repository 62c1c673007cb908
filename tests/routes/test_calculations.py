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
from tests.routes.asked_wrongly import EXTREME, NONSENSE, REFUSED, budget, without


@pytest.mark.parametrize(("kind", "question"), EXTREME, ids=[f"{kind} {n}" for n, (kind, _) in enumerate(EXTREME)])
def test_a_question_at_the_ends_of_what_is_taken_has_a_finite_answer(
    door: FlaskClient, kind: str, question: dict[str, Any]
) -> None:
    found = door.post(f"/v1/calculations/{kind}", json=question)

    assert found.status_code == 200, found.json
    assert "null" not in found.get_data(as_text=True)  # what is not finite would be written so


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

    assert (found.status_code, found.json["code"]) == (400, "bad-question")


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


@settings(max_examples=400, derandomize=True, suppress_health_check=[HealthCheck.function_scoped_fixture])
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
