"""`steelyard compute`: what it reads, what it writes where, and how it ends."""

import json
from pathlib import Path

import pytest

from api.metrology.calculations.table import CALCULATIONS
from tests.computing import ask

QUESTION = '{"value": "250", "unit": "[lb_av]", "to": "kg"}'
ANSWER = {"value": "113.3980925", "unit": "kg", "exact": True}
MEMBERS = {"type", "title", "status", "detail", "instance", "code"}


def test_one_object_gives_one_answer_on_a_line() -> None:
    found = ask("convert", QUESTION)

    assert (found.exit_code, found.stderr) == (0, "")
    assert found.stdout.count("\n") == 1
    assert json.loads(found.stdout) == ANSWER


def test_an_object_over_several_lines_is_one_question() -> None:
    found = ask("convert", json.dumps(json.loads(QUESTION), indent=2))

    assert json.loads(found.stdout) == ANSWER


def test_a_file_is_read_as_standard_input_is(tmp_path: Path) -> None:
    file = tmp_path / "question.json"
    file.write_text(QUESTION)

    found = ask("convert", "", str(file))

    assert json.loads(found.stdout) == ANSWER


def test_an_object_a_line_gives_an_answer_a_line_in_the_same_order() -> None:
    found = ask("convert", "\n".join(QUESTION.replace("250", str(n)) for n in (1, 2, 250)) + "\n\n")

    answers = [json.loads(line)["value"] for line in found.stdout.splitlines()]
    assert answers == ["0.45359237", "0.90718474", "113.3980925"]
    assert found.exit_code == 0


def test_a_refused_question_among_others_is_told_and_the_others_are_answered() -> None:
    found = ask("convert", "\n".join([QUESTION, QUESTION.replace("250", "x"), QUESTION]))

    problem = json.loads(found.stderr)
    assert found.exit_code == 2
    assert [json.loads(line) for line in found.stdout.splitlines()] == [ANSWER, ANSWER]
    assert problem["instance"] == "#question-2"
    assert set(problem) - {"errors"} == MEMBERS
    assert problem["errors"][0]["pointer"] == "#/value"


@pytest.mark.parametrize("text", ["", "{", "[]", "null", "3", '{"value": NaN}', '{"value": 1e5}', "\ufeff{}"])
def test_what_is_no_question_ends_with_2_and_a_problem(text: str) -> None:
    found = ask("convert", text.encode())

    problem = json.loads(found.stderr)
    assert (found.exit_code, found.stdout) == (2, "")
    assert problem["status"] in (400, 422)
    assert problem["code"] in ("not-json", "wrong-shape")


def test_an_unknown_kind_is_refused_with_the_list_of_all() -> None:
    found = ask("weight-loss", "{}")

    problem = json.loads(found.stderr)
    assert (found.exit_code, problem["status"]) == (2, 404)
    assert all(calculation.name in problem["detail"] for calculation in CALCULATIONS)


def test_a_file_that_is_not_there_is_told_with_status_2() -> None:
    found = ask("convert", "", "/nothing/here.json")

    assert found.exit_code == 2
    assert "No such file" in found.stderr


def test_help_names_every_kind() -> None:
    found = ask("--help", "")

    words = " ".join(found.stdout.split())
    assert all(calculation.name in words for calculation in CALCULATIONS)
