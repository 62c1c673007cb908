"""Return to zero: what the display shows after the load, against what it showed before, by the limit of each scheme."""

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.metrology.judgement import JudgedTest, PhaseJudgement
from api.metrology.judging import judge
from api.metrology.mass import mass
from api.metrology.readings import Reading
from api.metrology.refusals import NoTableValue
from api.metrology.return_to_zero import return_limit
from api.metrology.scale import Scale
from api.metrology.terms import AccuracyClass, Purpose, SchemeName
from api.metrology.tolerance import scheme
from api.metrology.verdict import WORST_FIRST
from tests.metrology.a_case import a_case, a_range, a_scale, a_visit, all_required, codes_of

FINE = a_scale([a_range(d="0.01", e="0.1")])
COARSE = a_scale([a_range()])
HB44, R76 = scheme("hb44", "maintenance"), scheme("r76", "in-service")


def after_load(shown: str, **more: object) -> Reading:
    return replace(Reading(1, "return to zero", mass(shown, "kg")), **more)


def zero(shown: str = "0.00", added: str | None = None) -> Reading:
    return Reading(1, "zero set", mass(shown, "kg"), change_over_added=mass(added, "kg") if added else None)


def phase_of(
    readings: list[Reading], scale: Scale = FINE, scheme_name: SchemeName = "r76", purpose: Purpose = "scheduled"
) -> PhaseJudgement:
    found = judge(a_case(a_visit(readings, purpose=purpose), scale, scheme_name=scheme_name)).as_found
    assert found is not None
    return found


def returned(*readings: Reading, **more: object) -> JudgedTest:
    phase = phase_of(list(readings), **more)
    return next(test for test in phase.tests if test.test == "return to zero")


@pytest.mark.parametrize(
    ("shown", "verdict"), [("0.05", "pass"), ("-0.05", "pass"), ("0.06", "fail"), ("-0.06", "fail")]
)
def test_r76_allows_half_an_e(shown: str, verdict: str) -> None:
    """OIML R 76-1:2006 3.9.4.2, from memory: 0.5 e, here 0.05 kg."""
    test = returned(zero(), after_load(shown, minutes=30))

    assert (test.verdict, test.limit_kg) == (verdict, Decimal("0.05"))
    assert test.limit_source == "0.5 e: OIML R 76-1:2006 3.9.4.2"


@pytest.mark.parametrize(
    ("minutes", "maximum", "purpose", "limit", "clause"),
    [
        (30, "300", "scheduled", "0.05", "T.N.4.5.3"),   # 3 000 e
        (30, "400", "scheduled", "0.05", "T.N.4.5.3"),   # 4 000 e
        (30, "500", "scheduled", "0.083", "T.N.4.5.3"),  # 5 000 e
        (None, "300", "scheduled", "0.1", "N.1.9"),      # the smallest maintenance tolerance
        (5, "300", "scheduled", "0.1", "N.1.9"),
        (None, "300", "initial", "0.05", "N.1.9"),       # the smallest acceptance tolerance
    ],
)  # fmt: skip
def test_hb44_tells_half_an_hour_under_load_from_a_short_one(
    minutes: int | None, maximum: str, purpose: Purpose, limit: str, clause: str
) -> None:
    """NIST HB 44 section 2.20 T.N.4.5.3 (0.5 e; class III above 4 000 intervals 0.83 e) and N.1.9, from memory."""
    scale = a_scale([a_range(maximum, d="0.01", e="0.1")])

    test = returned(zero(), after_load("0.00", minutes=minutes), scale=scale, scheme_name="hb44", purpose=purpose)

    assert test.limit_kg == Decimal(limit)
    assert clause in test.limit_source


def test_it_is_the_change_that_counts_and_not_the_zero() -> None:
    assert returned(zero("0.20"), after_load("0.24")).measured_kg == Decimal("0.04")
    assert returned(zero("0.00"), after_load("0.24", before=mass("0.20", "kg"))).measured_kg == Decimal("0.04")


def test_only_a_zero_taken_before_the_load_can_be_compared_with() -> None:
    test = returned(after_load("0.00"), zero())

    assert (test.verdict, codes_of(test.reasons)) == ("undecided", ["no-change-recorded"])


def test_r76_cannot_decide_half_an_e_on_a_display_in_steps_of_e() -> None:
    plain = returned(zero("0.0"), after_load("0.0"), scale=COARSE)
    beyond = returned(zero("0.0"), after_load("0.2"), scale=COARSE)
    shown = returned(zero("0.0"), after_load("0.0"), scale=COARSE, scheme_name="hb44")

    assert (plain.verdict, codes_of(plain.reasons)) == ("undecided", ["rounding-undecided"])
    assert (beyond.verdict, shown.verdict) == ("fail", "pass")


def test_change_over_points_before_and_after_decide_it() -> None:
    """P at zero 0.00 kg before, 0.04 kg after."""
    test = returned(zero("0.0", "0.05"), after_load("0.0", change_over_added=mass("0.01", "kg")), scale=COARSE)

    assert (test.verdict, test.measured_kg) == ("pass", Decimal("0.04"))


def test_a_multi_interval_scale_is_held_to_its_finest_interval() -> None:
    """OIML R 76-1:2006 3.9.4.2, from memory: 0.5 e1."""
    scale = a_scale([a_range("150", "0.05"), a_range("300", "0.1")], arrangement="multi-interval")

    assert returned(zero(), after_load("0.00"), scale=scale).limit_kg == Decimal("0.025")


@pytest.mark.parametrize("accuracy_class", ["II", "IIII"])
def test_the_other_classes_have_half_an_e_however_many_intervals(accuracy_class: AccuracyClass) -> None:
    scale = a_scale([a_range("5000", "1")], accuracy_class=accuracy_class)

    assert return_limit(scale, scale.ranges[0], HB44, 30).kg == Decimal("0.5")


def test_class_one_has_no_return_to_zero_in_r76_and_the_smallest_tolerance_in_hb44() -> None:
    scale = a_scale([a_range("0.2", "0.000001")], accuracy_class="I")

    with pytest.raises(NoTableValue):
        return_limit(scale, scale.ranges[0], R76, 30)
    assert return_limit(scale, scale.ranges[0], HB44, 30).kg == Decimal("0.000001")


def test_a_zero_that_does_not_come_back_proves_no_load_and_fails_the_phase() -> None:
    phase = phase_of([*all_required(), after_load("0.2")], COARSE, "hb44")

    assert phase.verdict == "fail"
    assert phase.proven_words == "No load is proven: return to zero did not pass."


@given(st.integers(-20, 20), st.integers(0, 20))
def test_a_larger_change_of_zero_is_never_a_better_verdict(count: int, more: int) -> None:
    further = count + more if count >= 0 else count - more
    verdicts = [returned(zero(), after_load(f"{Decimal(n).scaleb(-2):f}")).verdict for n in (count, further)]

    assert WORST_FIRST.index(verdicts[1]) <= WORST_FIRST.index(verdicts[0])
