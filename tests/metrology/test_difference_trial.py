"""The difference test: pieces added to a base load that stays, as before and after dialysis."""

import math
from dataclasses import replace
from decimal import Decimal

import pytest

from api.metrology.clinical_need import ClinicalNeed
from api.metrology.difference import Difference
from api.metrology.judgement import JudgedTest, Judgement
from api.metrology.judging import judge
from api.metrology.mass import mass
from api.metrology.readings import Reading
from api.metrology.scale import Scale
from api.metrology.terms import Placed
from api.metrology.weights import Piece
from tests.metrology.a_case import (
    a_case,
    a_piece,
    a_range,
    a_scale,
    a_visit,
    all_required,
    codes_of,
    repeatability,
    some_pieces,
    stack,
)

# A dialysis platform of 300 kg in steps of 0.05 kg; base loads of 20 kg pieces, and 1 kg and 2 kg to add.
PLATFORM = a_scale([a_range("300", "0.05")], kind="dialysis platform")
NEED = ClinicalNeed("QG-DIA", Decimal("0.1"), None, "agreement 7")
ADDED = {"A1": a_piece("A1", "1"), "A2": a_piece("A2", "2")}


def weighed(shown: str, base_kg: int, *added: str, base: int | None = None, placed: Placed | None = None) -> Reading:
    pieces = (*stack(base_kg), *added)
    return Reading(1, "difference", mass(shown, "kg"), pieces=pieces, base=base, placed=placed)


def judged(
    *readings: Reading, need: ClinicalNeed | None = None, scale: Scale = PLATFORM, others: list[Reading] | None = None
) -> Judgement:
    pieces: dict[str, Piece] = {**some_pieces(), **ADDED}
    visit = a_visit([*readings, *(others or [])])
    return judge(replace(a_case(visit, scale, pieces), clinical=need))


def the_test(judgement: Judgement) -> JudgedTest:
    assert judgement.as_found is not None
    return next(test for test in judgement.as_found.tests if test.test == "difference")


def only(judgement: Judgement) -> Difference:
    (one,) = the_test(judgement).differences
    return one


BASE = weighed("60.10", 60)


def test_the_error_of_a_difference_is_what_was_shown_less_what_was_added() -> None:
    """60.10 and 61.05: 0.95 shown of 1 kg, though the scale is 0.10 kg off at the base load."""
    one = only(judged(BASE, weighed("61.05", 60, "A1", base=1)))

    assert (one.base_seq, one.seq, one.base_kg, one.added_kg) == (1, 2, Decimal(60), Decimal(1))
    assert (one.seen_kg, one.error_kg) == (Decimal("0.95"), Decimal("-0.05"))
    assert (one.limit_kg, one.answer) == (None, None)


def test_without_a_limit_of_the_ward_it_is_told_and_no_verdict_hangs_on_it() -> None:
    """The difference is off by a tenth of itself; each reading is within its own tolerance."""
    test = the_test(judged(weighed("60.05", 60), weighed("60.95", 60, "A1", base=1)))

    assert (test.verdict, test.limit_kg, test.measured_kg) == ("pass", None, Decimal("0.10"))
    assert test.words == "2 loads, 60 to 61 kg; 1 difference of 1 kg; largest error of a difference"


@pytest.mark.parametrize(("shown", "answer"), [("61.10", "met"), ("61.05", "cannot say"), ("60.95", "not met")])
def test_the_wards_limit_is_answered_beside_the_verdict(shown: str, answer: str) -> None:
    """Limit 0.1 kg; U of two roundings of 0.05 kg is 0.041 kg (k = 2): an error of 0.05 kg fits, of 0.10 not with U."""
    limit = Decimal("0.1") if answer != "cannot say" else Decimal("0.08")
    judgement = judged(BASE, weighed(shown, 60, "A1", base=1), need=replace(NEED, mass_kg=limit))

    assert only(judgement).answer == answer
    assert the_test(judgement).verdict == "pass"
    assert ("difference-need-not-met" in codes_of(judgement.notes)) is (answer == "not met")


def test_a_difference_that_misses_the_wards_limit_fails_no_visit() -> None:
    readings = [*all_required(), replace(weighed("60.10", 60), seq=1)]
    sent = [*readings, weighed("60.95", 60, "A1", base=len(readings))]

    judgement = judged(*sent, need=NEED)

    assert (judgement.verdict_as_found, codes_of(judgement.flags)) == ("pass", [])
    assert "difference-need-not-met" in codes_of(judgement.notes)


def sizes_of(one: Difference) -> dict[str, float]:
    return {c.name: c.standard_uncertainty for c in one.budget.contributions}


def test_zero_and_the_base_load_cancel_in_the_budget() -> None:
    """Two roundings of 0.05 kg and the weights added; nothing of zero, and of the 60 kg under it."""
    one = only(judged(BASE, weighed("61.10", 60, "A1", base=1)))
    alone = judge(replace(a_case(a_visit([weighed("1.00", 0, "A1")]), PLATFORM, ADDED))).as_found
    assert alone is not None
    assert alone.points[0].budget is not None

    found, weights = sizes_of(one), {c.name: c.standard_uncertainty for c in alone.points[0].budget.contributions}
    roundings = {"rounding at the base load", "rounding at the load"}
    assert set(found) == {*roundings, "weights", "drift of the weights", "buoyancy bound"}
    assert found["rounding at the base load"] == found["rounding at the load"] == pytest.approx(0.05 / math.sqrt(12))
    assert found["weights"] == weights["weights"]


def test_both_readings_repeat() -> None:
    others = repeatability(("100.00", "100.05", "100.05"))

    one = only(judged(BASE, weighed("61.10", 60, "A1", base=1), others=others))

    assert sizes_of(one)["repeatability of both"] == pytest.approx(math.sqrt(2) * 0.05 / math.sqrt(3))


def test_only_the_added_pieces_may_stand_off_the_centre() -> None:
    """Corners 0.2 kg apart at 100 kg: relative 0.2 / (2 x 100 x sqrt 3), times the 1 kg shown (cg-18 7.1.1.4)."""
    corners = [
        Reading(1, "eccentricity", mass(shown, "kg"), pieces=stack(100), position=place)
        for place, shown in (("centre", "100.00"), ("front left", "100.20"))
    ]  # fmt: skip

    one, centred = (
        only(judged(BASE, weighed("61.10", 60, "A1", base=1, placed=placed), others=corners))
        for placed in (None, "one body centred")
    )  # fmt: skip

    assert sizes_of(one)["eccentricity"] == pytest.approx(0.2 / (2 * 100 * math.sqrt(3)) * 1.0)
    assert "eccentricity" not in sizes_of(centred)


@pytest.mark.parametrize(
    "above",
    [
        weighed("61.10", 60, "A1", base=9),                 # no such reading
        weighed("61.10", 60, "A1", base=2),                 # itself
        weighed("41.10", 40, "A1", base=1),                 # a piece of the base load is gone
        weighed("60.10", 60, base=1),                       # nothing was added
    ],
)  # fmt: skip
def test_a_difference_needs_its_base_load_to_stay_and_something_to_be_added(above: Reading) -> None:
    test = the_test(judged(BASE, above))

    assert test.differences == ()
    assert codes_of(test.reasons) == ["difference-unknown"]


def test_pieces_without_a_certificate_leave_the_difference_unsaid() -> None:
    pieces = {**some_pieces(), "A1": a_piece("A1", "1", certificate=None)}

    found = judge(a_case(a_visit([BASE, weighed("61.10", 60, "A1", base=1)]), PLATFORM, pieces)).as_found

    assert found is not None
    test = next(t for t in found.tests if t.test == "difference")
    assert test.differences == ()
    assert "no-reference-value" in codes_of(test.reasons)


def test_the_words_tell_the_worst_of_several_differences() -> None:
    judgement = judged(
        BASE, weighed("61.10", 60, "A1", base=1), weighed("61.90", 60, "A2", base=1), need=NEED
    )  # fmt: skip

    assert the_test(judgement).words == (
        "3 loads, 60 to 62 kg; 2 differences of 1 to 2 kg, the ward's limit of 0.1 kg not met; largest error of a difference"
    )
