"""The ward's own requirement: a statement beside the verdict, from the results at the loads the ward weighs."""

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.metrology.clinical_need import ClinicalNeed, ClinicalStatement
from api.metrology.decision import requirement_answer
from api.metrology.judgement import Judgement
from api.metrology.judging import judge
from api.metrology.readings import Reading
from tests.metrology.a_case import a_case, a_reading, a_visit, all_required, codes_of, some_pieces, stack


def a_need(mass: str | None = "0.5", percent: str | None = None) -> ClinicalNeed:
    return ClinicalNeed("QG-ED", Decimal(mass) if mass else None, Decimal(percent) if percent else None, "agreement 12")


def judged(
    need: ClinicalNeed | None, readings: list[Reading] | None = None, used: str | None = None, certified: bool = True
) -> Judgement:
    visit = a_visit(all_required() if readings is None else readings)
    case = a_case(visit, pieces=some_pieces(certified=certified), heaviest_load_used_kg=used)
    return judge(replace(case, clinical=need))


def stated(judgement: Judgement) -> ClinicalStatement:
    assert judgement.as_found is not None
    assert judgement.as_found.clinical is not None
    return judgement.as_found.clinical


def off_at_200(shown: str) -> list[Reading]:
    return [*all_required(), a_reading("increasing", shown, stack(200))]


@pytest.mark.parametrize(
    ("error", "answer"), [("0.3", "met"), ("0.31", "cannot say"), ("0.5", "cannot say"), ("0.51", "not met")]
)
@pytest.mark.parametrize("sign", [1, -1])
def test_met_with_u_inside_not_met_with_the_error_outside_and_unsaid_between(
    error: str, answer: str, sign: int
) -> None:
    """A limit of 0.5 with U = 0.2: four zones with w = U of ILAC-G8:09/2019 section 4.2.3, the middle two taken as one
    and a fail from the limit on."""
    assert requirement_answer(sign * Decimal(error), Decimal("0.5"), Decimal("0.2")) == answer


def test_a_small_error_meets_a_wide_limit() -> None:
    statement = stated(judged(a_need()))

    assert (statement.answer, statement.limit_kg, statement.error_kg) == ("met", Decimal("0.5"), Decimal("0.0"))


def test_a_limit_that_is_missed_changes_no_verdict_and_is_noted() -> None:
    """0.2 kg at 200 kg is within the 2 d of HB 44, and beyond what a ward that needs 0.1 kg asked for."""
    judgement = judged(a_need("0.1"), off_at_200("200.2"))

    assert stated(judgement).answer == "not met"
    assert (stated(judgement).load_kg, stated(judgement).error_kg) == (Decimal(200), Decimal("0.2"))
    assert judgement.verdict_as_found == judged(None, off_at_200("200.2")).verdict_as_found == "pass"
    assert codes_of(judgement.notes) == ["clinical-need-not-met"]
    assert codes_of(judgement.flags) == []


def test_a_failing_scale_may_meet_the_ward_and_still_fails() -> None:
    judgement = judged(a_need("2"), off_at_200("200.9"))

    assert (judgement.verdict_as_found, stated(judgement).answer) == ("fail", "met")


def test_without_a_requirement_nothing_is_stated() -> None:
    found = judged(None).as_found

    assert found is not None
    assert found.clinical is None


def test_a_percentage_is_of_the_load_and_the_larger_of_both_limits_holds() -> None:
    need = a_need("0.1", "0.5")

    assert [need.limit_at(Decimal(load)) for load in (10, 20, 100)] == [Decimal("0.1"), Decimal("0.1"), Decimal("0.5")]


def test_loads_above_the_heaviest_one_weighed_do_not_count() -> None:
    readings = off_at_200("200.9")

    assert stated(judged(a_need(), readings)).answer == "not met"
    assert stated(judged(a_need(), readings, used="150")).answer == "cannot say"
    assert (
        "Nothing above 100 kg could be used, and up to 150 kg is weighed."
        in stated(judged(a_need(), readings, used="150")).words
    )
    assert stated(judged(a_need(), readings, used="100")).answer == "met"


def test_a_good_load_above_the_heaviest_one_weighed_closes_what_was_not_placed_below() -> None:
    """100 and 200 kg within the limit with U, 150 kg the heaviest weighed: between two loads that meet it nothing is open."""
    assert stated(judged(a_need(), off_at_200("200.1"), used="150")).answer == "met"
    assert stated(judged(a_need(), off_at_200("200.9"), used="150")).answer == "cannot say"


def test_readings_without_a_reference_leave_it_open() -> None:
    statement = stated(judged(a_need(), certified=False))

    assert (statement.answer, statement.load_kg) == ("cannot say", None)


def test_one_result_that_could_not_be_used_is_told() -> None:
    shaky = replace(a_reading("increasing", "100.0", stack(100)), stable=False)

    statement = stated(judged(a_need(), [*all_required(), shaky]))

    assert statement.answer == "cannot say"
    assert statement.words.endswith("1 result could not be used.")


def test_other_tests_than_those_that_weigh_as_the_ward_does_do_not_count() -> None:
    readings = [*all_required(), a_reading("creep", "101.0", stack(100))]

    assert stated(judged(a_need(), readings)).answer == "met"


@given(st.integers(-30, 30), st.integers(0, 30))
def test_a_larger_error_never_meets_more(count: int, more: int) -> None:
    order = ["not met", "cannot say", "met"]
    further = count + more if count >= 0 else count - more

    answers = [stated(judged(a_need(), off_at_200(f"{200 + Decimal(n) / 10:f}"))).answer for n in (count, further)]

    assert order.index(answers[1]) <= order.index(answers[0])
