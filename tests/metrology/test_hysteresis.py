"""Hysteresis: the same load on the way up and on the way down."""

from decimal import Decimal

import pytest

from api.metrology.hysteresis import Hysteresis
from api.metrology.judgement import JudgedTest, Judgement
from api.metrology.judging import judge
from tests.metrology.a_case import (
    a_case,
    a_dual_unit_scale,
    a_reading,
    a_visit,
    all_required,
    an_adjustment,
    codes_of,
    stack,
)


def with_way_down(*shown: tuple[int, str]) -> Judgement:
    down = [a_reading("decreasing", text, stack(load)) for load, text in shown]
    return judge(a_case(a_visit([*all_required(), *down])))


def way_down(judgement: Judgement) -> JudgedTest:
    assert judgement.as_found is not None
    return next(test for test in judgement.as_found.tests if test.test == "decreasing")


def test_the_largest_difference_of_down_and_up_is_told_with_its_load() -> None:
    test = way_down(with_way_down((200, "200.1"), (100, "99.8"), (20, "20.0")))

    assert test.words == "3 loads, 20 to 200 kg; -0.2 kg from up to down at 100 kg; largest error"
    assert test.measured_kg == Decimal("0.2")


def test_a_load_that_shows_the_same_both_ways_is_told_without_a_number() -> None:
    found = Hysteresis(Decimal(150), Decimal("0.00"), Decimal("0.2"))

    assert found.words == "no difference between up and down at 150 kg"


def test_hysteresis_of_a_balance_is_told_in_grams() -> None:
    found = Hysteresis(Decimal(1), Decimal("0.00002"), Decimal("0.0002"), "g")

    assert found.words == "+0.02 g from up to down at 1000 g"


@pytest.mark.parametrize(("shown", "noted"), [("100.1", False), ("100.2", True), ("99.8", True), ("99.9", False)])
def test_more_than_half_of_the_tolerance_is_noted_and_fails_nothing(shown: str, noted: bool) -> None:
    """At 100 kg the tolerance is 2 d = 0.2 kg (HB 44 Table 6, second-hand): half of it is 0.1 kg."""
    judgement = with_way_down((100, shown))

    assert ("hysteresis-large" in codes_of(judgement.notes)) is noted
    assert (judgement.verdict_as_found, codes_of(judgement.flags)) == ("pass", [])


def test_each_way_is_judged_by_the_tolerance_however_small_the_difference() -> None:
    up = a_reading("increasing", "200.4", stack(200))
    down = a_reading("decreasing", "200.4", stack(200))

    judgement = judge(a_case(a_visit([up, down])))

    assert way_down(judgement).verdict == "fail"
    assert codes_of(judgement.notes) == []


def test_loads_read_one_way_only_have_no_hysteresis() -> None:
    test = way_down(with_way_down((120, "120.2")))

    assert test.words == "1 load, 120 kg; largest error"


def test_a_load_in_another_unit_is_not_compared() -> None:
    """100 kg are 220.46 lb: shown as 220.4 lb on the way up and as 100.2 kg on the way down, nothing is told."""
    up = a_reading("increasing", "220.4", stack(100), unit="[lb_av]")
    down = a_reading("decreasing", "100.2", stack(100))

    judgement = judge(a_case(a_visit([up, down]), a_dual_unit_scale()))

    assert way_down(judgement).words == "1 load, 100 kg; largest error"


def test_left_as_found_it_is_noted_once_and_as_left_by_itself() -> None:
    wide = [*all_required(), a_reading("decreasing", "100.2", stack(100))]

    once = judge(a_case(a_visit(wide)))
    twice = judge(a_case(a_visit(wide, wide, [an_adjustment(pieces=stack(200))])))

    assert [n.pointer for n in once.notes if n.code == "hysteresis-large"] == ["#/as_found"]
    assert [n.pointer for n in twice.notes if n.code == "hysteresis-large"] == ["#/as_found", "#/as_left"]
