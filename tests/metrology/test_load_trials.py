"""Rolling loads, other units, and readings after the power was off: each result judged by itself."""

from dataclasses import replace
from decimal import Decimal

from api.metrology.judgement import JudgedTest, Judgement
from api.metrology.judging import Case, judge
from api.metrology.mass import mass
from api.metrology.readings import Reading
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


def judged_with(readings: list[Reading], **more: object) -> Judgement:
    return judge(a_case(a_visit([*all_required(), *readings]), **more))


def the_test(judgement: Judgement, name: str) -> JudgedTest:
    assert judgement.as_found is not None
    return next(test for test in judgement.as_found.tests if test.test == name)


def test_a_rolling_load_is_judged_at_each_place() -> None:
    rolled = [a_reading("rolling load", shown, stack(200), position=place) for shown, place in
              (("200.1", "left"), ("200.2", "right"))]  # fmt: skip

    test = the_test(judged_with(rolled), "rolling load")

    assert (test.verdict, test.measured_kg, codes_of(test.reasons)) == ("pass", Decimal("0.2"), [])
    assert the_test(judged_with([replace(rolled[0], indication=mass("200.3", "kg"))]), "rolling load").verdict == "fail"


def test_a_rolling_load_above_four_fifths_of_max_is_told() -> None:
    """OIML R 76-1:2006 3.6.2.4, from memory: 0.8 of 300 kg is 240 kg."""
    at, above = (the_test(judged_with([a_reading("rolling load", f"{load}.0", stack(load))]), "rolling load") for load in
                 (240, 260))  # fmt: skip

    assert codes_of(at.reasons) == []
    assert (above.verdict, codes_of(above.reasons)) == ("pass", ["rolling-load-heavy"])
    assert above.reasons[0].sentence == "A load of 260 kg was rolled on; the rule ends at 0.8 of Max, 240 kg."


def in_pounds(shown: str) -> Reading:
    return a_reading("unit switch", shown, stack(100), unit="[lb_av]")


def test_the_same_load_in_another_unit_is_judged_in_that_unit() -> None:
    """100 kg are 220.46 lb: at 0.2 lb a division 1102 d, so 2 d = 0.4 lb of tolerance (HB 44 Table 6, second-hand)."""
    scale = a_dual_unit_scale()

    verdicts = [the_test(judged_with([in_pounds(shown)], scale=scale), "unit switch").verdict for shown in
                ("220.4", "220.8", "221.0")]  # fmt: skip

    assert verdicts == ["pass", "pass", "fail"]


def test_a_unit_that_can_be_reached_is_a_finding_where_the_scale_has_to_be_locked() -> None:
    case = a_case(a_visit([*all_required(), in_pounds("220.4")]), a_dual_unit_scale())

    locked, free = judge(case), judge(replace(case, unit_lock_required=False))

    assert codes_of(locked.notes) == ["unit-not-locked"]
    assert locked.notes[0].pointer == "#/as_found/readings/13"
    assert locked.verdict_as_found == "pass"
    assert codes_of(free.notes) == []


def test_readings_after_the_power_was_off_stand_for_switching_off_and_on() -> None:
    after = a_reading("power cycle", "100.0", stack(100))
    visit = a_visit(all_required(), all_required(), [an_adjustment(pieces=stack(200))])
    assert visit.as_left is not None
    silent = replace(visit, as_left=replace(visit.as_left, switched_off_and_on=None))
    read = replace(silent, as_left=replace(silent.as_left, readings=(*visit.as_left.readings, replace(after, seq=99))))

    assert [codes_of(judge(a_case(sent)).notes) for sent in (silent, read)] == [["not-switched-off-and-on"], []]


def test_a_reading_that_changed_with_the_power_fails() -> None:
    judgement = judged_with([a_reading("power cycle", "100.3", stack(100))])

    assert the_test(judgement, "power cycle").verdict == "fail"
    assert judgement.verdict_as_found == "fail"


def a_required(test: str) -> Case:
    case = a_case()
    return replace(case, policy=replace(case.policy, required_as_found=(*case.policy.required_as_found, test)))


def test_a_policy_may_require_any_of_the_new_tests() -> None:
    for test in ("return to zero", "creep", "tare", "unit switch", "power cycle", "rolling load", "difference"):
        judgement = judge(a_required(test))

        assert judgement.verdict_as_found == "undecided"
        assert the_test(judgement, test).verdict == "not tested"
