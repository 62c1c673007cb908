"""Points that look alike and are not: what one of them has must never come from the other, and nothing is lost on the way."""

import math
from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

import pytest

from api.metrology.decision import GUARDED_ACCEPTANCE, SIMPLE_ACCEPTANCE, Limits, acceptance_limits, limits_of
from api.metrology.judgement import PhaseJudgement
from api.metrology.judging import judge
from api.metrology.mass import mass
from api.metrology.readings import Reading
from api.metrology.refusals import EmptyAcceptanceZone, TooFewReadings
from api.metrology.repeatability import range_of
from api.metrology.scale import Scale
from api.metrology.terms import SchemeName
from tests.metrology.a_case import (
    a_case,
    a_dual_unit_scale,
    a_range,
    a_reading,
    a_scale,
    a_visit,
    codes_of,
    repeatability,
    some_pieces,
    stack,
    zero,
)

TWO_RANGES = a_scale([a_range("150", "0.05"), a_range("300", "0.1")], arrangement="multiple-range")


def phase_of(
    readings: Sequence[Reading], scale: Scale | None = None, scheme_name: SchemeName = "hb44"
) -> PhaseJudgement:
    numbered = [replace(reading, seq=number) for number, reading in enumerate(readings)]
    found = judge(a_case(a_visit(numbered), scale, scheme_name=scheme_name)).as_found
    assert found is not None
    return found


def test_net_loads_that_read_alike_are_judged_each_above_its_own_tare() -> None:
    """200 kg net on a tare of 100 kg reach Max 300 kg; on 120 kg they are beyond it."""
    net = replace(a_reading("tare", "200.0", stack(200)), tare=mass("100", "kg"))

    within, beyond = phase_of([net, replace(net, tare=mass("120", "kg"))]).points

    assert (within.verdict, codes_of(beyond.reasons)) == ("pass", ["over-capacity"])


@pytest.mark.parametrize("net_first", [False, True])
def test_a_gross_load_that_reads_like_a_net_one_is_judged_for_itself(net_first: bool) -> None:
    """200 kg on a tare of 120 kg are beyond Max 300 kg; 200 kg alone are not."""
    gross = a_reading("increasing", "200.0", stack(200))
    net = replace(gross, tare=mass("120", "kg"))

    points = phase_of([net, gross] if net_first else [gross, net]).points

    found = {point.reading.tare is not None: (point.verdict, codes_of(point.reasons)) for point in points}
    assert found == {False: ("pass", []), True: ("undecided", ["over-capacity"])}


@pytest.mark.parametrize("tare_first", [False, True])
def test_a_tare_reading_without_its_tare_is_not_taken_for_a_load_that_reads_alike(tare_first: bool) -> None:
    load = a_reading("increasing", "200.0", stack(200))
    lacking = replace(load, test="tare")

    points = phase_of([lacking, load] if tare_first else [load, lacking]).points

    found = {point.reading.test: bool(point.reasons) for point in points}
    assert found == {"increasing": False, "tare": True}


def test_a_load_on_a_substitute_is_not_taken_for_its_pieces_alone() -> None:
    """The same pieces read alike: alone they are 20 kg, on a load that nobody recorded they are nothing known."""
    alone = a_reading("increasing", "20.0", stack(20))
    on_top = replace(alone, substitution=9)

    first, second = phase_of([alone, on_top]).points

    assert (first.verdict, first.nominal_kg) == ("pass", Decimal(20))
    assert (second.verdict, second.load) == ("undecided", None)


def test_one_stack_is_held_against_the_tolerance_of_each_unit_it_was_read_in() -> None:
    """100 kg: 0.2 kg in kilograms (1000 e); in pounds 1102.3 e of 0.2 lb: 0.4 lb. NIST HB 44 section 2.20 Table 6."""
    readings = [
        a_reading("increasing", "100.0", stack(100)),
        a_reading("increasing", "220.4", stack(100), unit="[lb_av]"),
        a_reading("increasing", "200.0", stack(200)),
    ]

    checks = [point.weights_check for point in phase_of(readings, a_dual_unit_scale()).points]

    allowed = [check.allowed_kg for check in checks if check is not None]
    assert allowed == pytest.approx([0.2 / 3, 0.4 * 0.45359237 / 3, 0.2 / 3])
    needed = [check.times_divisor_kg for check in checks if check is not None]
    assert needed[2] == 2 * needed[0]


def test_a_repeated_point_carries_its_change_over_point_and_its_range() -> None:
    taken = replace(a_reading("increasing", "100.0", stack(100)), change_over_added=mass("0.05", "kg"))

    first, second = phase_of([*zero(), taken, replace(taken)], scheme_name="r76").points[1:]

    assert first.change_over is not None
    assert second.change_over == first.change_over
    assert second.in_use == first.in_use == a_range()


def test_a_point_that_is_not_judged_keeps_what_is_known_of_its_load() -> None:
    point = phase_of([a_reading("increasing", "100.0", stack(100), unit="kg")], a_scale(accuracy_class="IIIL")).points[
        0
    ]
    unknown = phase_of([a_reading("increasing", "310.0", stack(320))]).points[0]

    assert point.load is not None
    assert (unknown.verdict, unknown.load and unknown.load.nominal_kg) == ("undecided", Decimal(320))


def test_the_nominal_load_is_that_of_the_pieces_where_they_have_no_certificate() -> None:
    visit = a_visit([a_reading("increasing", "40.0", stack(40))])

    found = judge(a_case(visit, pieces=some_pieces(certified=False))).as_found

    assert found is not None
    assert (found.points[0].nominal_kg, found.points[0].load) == (Decimal(40), None)
    assert found.points[0].tolerance is not None  # 400 e: 1 e (NIST HB 44 section 2.20 Table 6)
    assert found.points[0].tolerance.kg == Decimal("0.1")


def test_on_a_substitute_load_the_pieces_are_only_a_part_of_what_was_declared() -> None:
    on_top = replace(a_reading("increasing", "60.0", stack(20), load=mass("60", "kg")), substitution=9)

    point = phase_of([on_top]).points[0]

    assert (point.nominal_kg, point.load) == (Decimal(60), None)


def test_with_few_degrees_of_freedom_the_probability_is_student_s() -> None:
    """Three weighings 0.1 kg apart: nu_eff is small, and Student's t has the heavier tails."""
    spread = repeatability(("100.0", "100.1", "100.2"))

    point = phase_of([a_reading("increasing", "100.2", stack(100)), *spread]).points[0]

    assert point.budget is not None
    assert point.probability is not None
    u, nu = point.budget.combined, point.budget.effective_degrees_of_freedom
    assert nu < 10
    normal = 0.5 * math.erfc(0.0) - 0.5 * math.erfc(0.4 / u / math.sqrt(2))
    student = _between(0.0, 0.4 / u, math.floor(nu))
    assert point.probability == pytest.approx(student, abs=1e-9)
    assert abs(student - normal) > 1e-6


def _between(low: float, high: float, degrees: int) -> float:
    """The probability of Student's t between two values, by scipy."""
    from scipy.special import stdtr

    return float(stdtr(degrees, high) - stdtr(degrees, low))


@pytest.mark.parametrize("test", ["discrimination", "return to zero"])
def test_a_change_in_a_unit_that_the_scale_does_not_show_is_undecided_with_the_reason(test: str) -> None:
    reading = a_reading("discrimination", "220.4", stack(100), unit="[lb_av]", before="220.0", added="0.2")

    point = phase_of([replace(reading, test=test)]).points[0]

    assert (point.verdict, codes_of(point.reasons)) == ("undecided", ["no-such-range"])


def test_a_change_says_the_range_whose_division_it_was_counted_in() -> None:
    changed = a_reading("discrimination", "100.2", stack(100), before="100.0", added="0.14")
    back = a_reading("return to zero", "0.0", before="0.0")

    assert [point.in_use for point in phase_of([changed, back]).points] == [a_range(), a_range()]


def test_a_zero_read_in_motion_or_of_a_class_without_a_limit_decides_nothing() -> None:
    """OIML R 76-1:2006 3.9.4 has no return to zero for class I, from memory."""
    moving = replace(a_reading("return to zero", "0.0", before="0.0"), stable=False)
    fine = a_scale([a_range("300", "0.1")], accuracy_class="I")

    in_motion = phase_of([moving]).points[0]
    without = phase_of([replace(moving, stable=None)], fine, "r76").points[0]

    assert (in_motion.verdict, codes_of(in_motion.reasons)) == ("undecided", ["not-stable"])
    assert (without.verdict, codes_of(without.reasons)) == ("undecided", ["no-table-value"])


def test_a_reading_fits_the_division_of_the_range_that_was_selected() -> None:
    """0.05 kg up to 150 kg in the first range, 0.1 kg in the second, whatever is shown."""
    shown = a_reading("increasing", "100.05", stack(100), range_selected=1)

    first, second = phase_of([shown, replace(shown, range_selected=2)], TWO_RANGES).points

    assert (first.verdict, codes_of(second.reasons)) == ("pass", ["off-grid"])


@pytest.mark.parametrize(("d", "verdict"), [("0.02", "pass"), ("0.05", "undecided")])
def test_a_fifth_of_e_is_fine_enough_under_r76(d: str, verdict: str) -> None:
    """OIML R 76-1:2006 3.5.3.2: where d is larger than 0.2 e the rounding is removed first; at 0.2 e it is not."""
    scale = a_scale([a_range("300", d, e="0.1")])

    point = phase_of([a_reading("increasing", "100.20", stack(100))], scale, "r76").points[0]

    assert (point.verdict, point.error_kg) == (verdict, Decimal("0.20"))


@pytest.mark.parametrize(("shown", "verdict"), [("0.0", "pass"), ("0.1", "undecided"), ("0.2", "fail")])
def test_without_a_load_half_a_division_is_hidden_and_no_more(shown: str, verdict: str) -> None:
    """R 76 in service allows 1 e = 0.1 kg at zero: 0.1 kg may be 0.05 to 0.15 kg, 0.2 kg is 0.15 kg at least."""
    point = phase_of(zero(shown), scheme_name="r76").points[0]

    assert point.verdict == verdict


@pytest.mark.parametrize(("added", "verdict"), [("0.01", "pass"), ("0.02", "pass"), ("0.09", "pass")])
def test_a_change_over_point_without_one_at_zero_leaves_half_a_division(added: str, verdict: str) -> None:
    """100 kg: 2 e = 0.2 kg in service. P = 100.1 + 0.05 - added: 0.14, 0.13 and 0.06 off, each less than 0.2 - 0.05."""
    taken = replace(a_reading("increasing", "100.1", stack(100)), change_over_added=mass(added, "kg"))

    assert phase_of([taken], scheme_name="r76").points[0].verdict == verdict


def test_what_rounding_hides_is_told_with_d_and_e() -> None:
    point = phase_of([a_reading("increasing", "100.2", stack(100))], scheme_name="r76").points[0]

    assert [reason.facts for reason in point.reasons] == [{"d": "0.1", "e": "0.1"}]
    assert "OIML R 76-1:2006 3.5.3.2" in point.reasons[0].sentence


def test_the_limits_of_a_rule_lie_the_guard_band_either_side_of_the_tolerance() -> None:
    """ILAC-G8:09/2019 4.2.2: accepted up to T - w, rejected beyond T + w."""
    guarded, simple = (
        limits_of(Decimal("0.20"), Decimal("0.16"), rule) for rule in (GUARDED_ACCEPTANCE, SIMPLE_ACCEPTANCE)
    )

    assert (guarded.guard, guarded.accepted, guarded.rejected) == (Decimal("0.16"), Decimal("0.04"), Decimal("0.36"))
    assert (simple.guard, simple.accepted, simple.rejected) == (Decimal(0), Decimal("0.20"), Decimal("0.20"))


def test_limits_that_a_guard_band_closes_are_refused_with_the_numbers() -> None:
    with pytest.raises(EmptyAcceptanceZone) as refused:
        acceptance_limits(Limits(Decimal("-0.1"), Decimal("0.1")), Decimal("0.11"))

    assert refused.value.facts == {"guard_band": "0.11", "lower": "-0.1", "upper": "0.1"}
    assert "A guard band of 0.11 leaves nothing between -0.1 and 0.1" in refused.value.sentence


def test_too_few_weighings_are_refused_with_their_number() -> None:
    with pytest.raises(TooFewReadings) as refused:
        range_of([Decimal("240.0"), Decimal("240.1")])

    assert refused.value.facts == {"found": "2"}
