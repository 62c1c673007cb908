"""Decisions under the three rules, exact on their limits, and the probability of conformity."""

import json
import math
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from statistics import NormalDist
from typing import Any

import mpmath
import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from scipy import special, stats

from api.metrology.decision import (
    FOUR_ZONES,
    GUARDED_ACCEPTANCE,
    RULES,
    SIMPLE_ACCEPTANCE,
    DecisionRule,
    Limits,
    decide,
    guard_ratio_for,
    probability_of_conformity,
    probability_of_nonconformity,
    rule_of,
    said_of_one,
    verdict_within,
)
from api.metrology.mass import KILOGRAMS_PER, in_kilograms
from api.metrology.policy import STARTING, GuardWidth, Policy
from api.metrology.refusals import EmptyAcceptanceZone
from api.metrology.rounding import printed_probability
from api.metrology.verdict import WORST_FIRST

EXAMPLES = Path(__file__).parents[1] / "worked_examples"
ILAC = json.loads((EXAMPLES / "ilac_g8_zones.json").read_text())
CONFORMITY = json.loads((EXAMPLES / "jcgm_106_conformity.json").read_text())
GRID = json.loads((EXAMPLES / "exact_grid.json").read_text())

BEST_FIRST = ["pass", "conditional pass", "conditional fail", "fail"]

masses = st.integers(0, 10_000).map(lambda n: Decimal(n).scaleb(-3))
errors = st.integers(-10_000, 10_000).map(lambda n: Decimal(n).scaleb(-3))
rules = st.sampled_from(sorted(RULES))


def a_rule(ratio: str, zones: Any = "two") -> DecisionRule:
    return DecisionRule("customer's", Decimal(ratio), zones, "agreed beforehand")


@pytest.mark.parametrize("case", ILAC["cases"], ids=lambda c: f"E {c['error']} U {c['U']}, ILAC-G8:09/2019 4.2.1-4.2.3")
@pytest.mark.parametrize(
    ("rule", "column"), [(SIMPLE_ACCEPTANCE, "simple"), (GUARDED_ACCEPTANCE, "guarded"), (FOUR_ZONES, "four_zones")]
)
def test_a_verdict_is_the_one_of_the_zone_the_error_lies_in(
    case: dict[str, str], rule: DecisionRule, column: str
) -> None:
    found = decide(Decimal(case["error"]), Decimal(case["tolerance"]), Decimal(case["U"]), rule)

    assert found == case[column]


@pytest.mark.parametrize("case", GRID["errors"], ids=lambda c: f"{c['reading']} - {c['load']}, own")
def test_an_error_on_the_limit_passes_where_binary_floats_would_fail_it(case: dict[str, Any]) -> None:
    reading, load, tolerance = (case[key] for key in ("reading", "load", "tolerance"))

    error = Decimal(reading) - Decimal(load)

    assert error == Decimal(case["error"])
    assert decide(error, Decimal(tolerance), Decimal(0), SIMPLE_ACCEPTANCE) == "pass"
    assert (float(reading) - float(load) > float(tolerance)) is case["float_says_over"]


STEP = Decimal("0.001")
LIMITS = [
    (SIMPLE_ACCEPTANCE, "0.20", ("pass", "fail")),
    (GUARDED_ACCEPTANCE, "0.15", ("pass", "fail")),
    (FOUR_ZONES, "0.15", ("pass", "conditional pass")),
    (FOUR_ZONES, "0.20", ("conditional pass", "conditional fail")),
    (FOUR_ZONES, "0.25", ("conditional fail", "fail")),
    (a_rule("0.83"), "0.1585", ("pass", "fail")),
]


@pytest.mark.parametrize(("rule", "limit", "verdicts"), LIMITS, ids=[f"{r.name} at {limit}" for r, limit, _ in LIMITS])
@pytest.mark.parametrize("sign", [1, -1])
def test_a_limit_belongs_to_the_better_zone_and_one_step_beyond_to_the_worse(
    rule: DecisionRule, limit: str, verdicts: tuple[str, str], sign: int
) -> None:
    inside, on_limit, outside = (sign * (Decimal(limit) + step) for step in (-STEP, Decimal(0), STEP))

    found = [decide(error, Decimal("0.20"), Decimal("0.05"), rule) for error in (inside, on_limit, outside)]

    assert found == [verdicts[0], *verdicts]


def test_a_hair_beyond_the_tolerance_fails_however_many_digits_it_takes() -> None:
    hair = Decimal("0.2000000000000000000000000000000000000001")

    found = [decide(error, Decimal("0.2"), Decimal(0), SIMPLE_ACCEPTANCE) for error in (hair, hair.copy_negate())]

    assert found == ["fail", "fail"]


@pytest.mark.parametrize("rule", [GUARDED_ACCEPTANCE, FOUR_ZONES], ids=lambda r: r.name)
def test_a_guard_band_wider_than_the_tolerance_is_refused_and_never_a_fail(rule: DecisionRule) -> None:
    with pytest.raises(EmptyAcceptanceZone) as refused:
        decide(Decimal(0), Decimal("0.20"), Decimal("0.21"), rule)

    assert refused.value.facts == {"guard_band": "0.21 kg", "tolerance": "0.20 kg"}


@pytest.mark.parametrize("rule", [GUARDED_ACCEPTANCE, FOUR_ZONES], ids=lambda r: r.name)
def test_a_guard_band_as_wide_as_the_tolerance_accepts_no_error_but_0(rule: DecisionRule) -> None:
    found = [decide(Decimal(e), Decimal("0.20"), Decimal("0.20"), rule) for e in ("0", "0.001")]

    assert found[0] == "pass"
    assert found[1] != "pass"


def test_simple_acceptance_has_an_answer_however_large_the_uncertainty() -> None:
    assert decide(Decimal("0.1"), Decimal("0.2"), Decimal(5), SIMPLE_ACCEPTANCE) == "pass"


@given(errors, masses, masses)
def test_a_guard_band_of_0_is_simple_acceptance(error: Decimal, tolerance: Decimal, printed: Decimal) -> None:
    simple = decide(error, tolerance, printed, SIMPLE_ACCEPTANCE)

    assert decide(error, tolerance, printed, a_rule("0")) == simple
    assert decide(error, tolerance, Decimal(0), GUARDED_ACCEPTANCE) == simple
    assert decide(error, tolerance, Decimal(0), FOUR_ZONES) == simple


@given(errors, masses, masses, rules)
def test_the_sign_of_the_error_changes_nothing(error: Decimal, tolerance: Decimal, printed: Decimal, name: str) -> None:
    printed = min(printed, tolerance)

    assert decide(error, tolerance, printed, RULES[name]) == decide(-error, tolerance, printed, RULES[name])


@given(errors, errors, masses, masses, rules)
def test_a_larger_error_never_has_a_better_verdict(
    one: Decimal, other: Decimal, tolerance: Decimal, printed: Decimal, name: str
) -> None:
    smaller, larger = sorted([one, other], key=abs)
    printed = min(printed, tolerance)

    found = [decide(error, tolerance, printed, RULES[name]) for error in (smaller, larger)]

    assert BEST_FIRST.index(found[0]) <= BEST_FIRST.index(found[1])


@given(errors, masses, masses, masses)
def test_a_larger_uncertainty_never_makes_a_pass_and_a_larger_tolerance_never_unmakes_one(
    error: Decimal, tolerance: Decimal, printed: Decimal, more: Decimal
) -> None:
    printed = min(printed, tolerance)
    found = decide(error, tolerance, printed, GUARDED_ACCEPTANCE)

    assert found == "fail" or decide(error, tolerance + more, printed, GUARDED_ACCEPTANCE) == "pass"
    assert found == "pass" or decide(error, tolerance, min(printed + more, tolerance), GUARDED_ACCEPTANCE) == "fail"


@given(errors, masses, masses)
def test_the_four_zones_leave_no_gap_and_do_not_overlap(error: Decimal, tolerance: Decimal, printed: Decimal) -> None:
    printed = min(printed, tolerance)
    size = abs(error)
    zones = {
        "pass": size <= tolerance - printed,
        "conditional pass": tolerance - printed < size <= tolerance,
        "conditional fail": tolerance < size <= tolerance + printed,
        "fail": tolerance + printed < size,
    }

    found = decide(error, tolerance, printed, FOUR_ZONES)

    assert sum(zones.values()) == 1
    assert zones[found]


@given(errors, masses, masses)
def test_the_two_halves_of_the_four_zones_are_simple_acceptance(
    error: Decimal, tolerance: Decimal, printed: Decimal
) -> None:
    four = decide(error, tolerance, min(printed, tolerance), FOUR_ZONES)

    accepted = four in ("pass", "conditional pass")

    assert accepted == (decide(error, tolerance, printed, SIMPLE_ACCEPTANCE) == "pass")


@given(errors, masses, masses, rules, st.sampled_from(sorted(KILOGRAMS_PER)))
def test_a_verdict_does_not_depend_on_the_unit(
    error: Decimal, tolerance: Decimal, printed: Decimal, name: str, unit: str
) -> None:
    printed = min(printed, tolerance)

    as_shown = decide(error, tolerance, printed, RULES[name])
    in_kg = decide(*(in_kilograms(value, unit) for value in (error, tolerance, printed)), RULES[name])

    assert as_shown == in_kg


def test_every_rule_is_found_by_its_name_and_says_its_source() -> None:
    assert set(RULES) == {"simple acceptance", "guarded acceptance", "four zones"}
    assert all(rule.source.startswith("ILAC-G8:09/2019") for rule in RULES.values())


def test_the_four_verdicts_are_ranked_as_the_zones_lie() -> None:
    ranked = [verdict for verdict in WORST_FIRST if verdict in BEST_FIRST]

    assert ranked[::-1] == BEST_FIRST


def limits_of(case: dict[str, Any]) -> tuple[float, float]:
    lower, upper = case["lower"], case["upper"]
    return (-math.inf if lower is None else lower), (math.inf if upper is None else upper)


@pytest.mark.parametrize("case", CONFORMITY["cases"], ids=lambda c: f"{c['id']}, JCGM 106:2012 7.4")
def test_a_probability_of_conformity_is_the_one_of_the_guide(case: dict[str, Any]) -> None:
    found = probability_of_conformity(case["value"], case["u"], *limits_of(case))

    assert f"{found:.2f}" == case["published"]
    assert found == pytest.approx(case["computed"], abs=1e-12)


@pytest.mark.parametrize(
    ("probability", "z"), CONFORMITY["z_for_probability"], ids=lambda v: f"{v}, JCGM 106:2012 Table 1 (from memory)"
)
def test_a_distance_from_a_single_limit_gives_the_probability_of_table_1(probability: str, z: float) -> None:
    """Table 1 prints z rounded to two decimals, so the probability is met to half of its own last digit."""
    found = probability_of_conformity(-z, 1, -math.inf, 0)

    assert found == pytest.approx(float(probability), abs=0.0015)
    assert NormalDist().inv_cdf(float(probability)) == pytest.approx(z, abs=0.0051)


WITH_PROBABILITY = [case for case in ILAC["cases"] if case["probability_k2"] is not None]


@pytest.mark.parametrize("case", WITH_PROBABILITY, ids=lambda c: f"E {c['error']} U {c['U']}, own, k = 2")
def test_the_probability_beside_a_verdict_takes_half_of_the_expanded_uncertainty(case: dict[str, Any]) -> None:
    error, u, tolerance = float(case["error"]), float(case["U"]) / 2, float(case["tolerance"])

    found = probability_of_conformity(error, u, -tolerance, tolerance)

    assert found == pytest.approx(case["probability_k2"], abs=1e-12)


@pytest.mark.parametrize("row", ILAC["risk_at_the_limit"], ids=lambda r: f"w = {r['guard_over_U']} U, ILAC-G8 Table 1")
def test_the_risk_at_the_acceptance_limit_is_that_of_the_rule(row: dict[str, Any]) -> None:
    guard_in_u = 2 * float(row["guard_over_U"])

    risk = probability_of_conformity(-guard_in_u, 1, 0, math.inf)

    assert risk == pytest.approx(row["risk"], rel=0.005)


def test_few_readings_lower_the_probability_of_conformity() -> None:
    case = CONFORMITY["few_degrees"]
    value, u, lower, upper = (case[key] for key in ("value", "u", "lower", "upper"))

    normal = probability_of_conformity(value, u, lower, upper)
    student = probability_of_conformity(value, u, lower, upper, case["nu"])

    assert (round(normal, 5), round(student, 5)) == (case["normal"], case["student"])


def exact_normal(value: float, u: float, lower: float, upper: float) -> float:
    """The same to 40 digits."""
    with mpmath.workdps(40):
        low, high = ((mpmath.mpf(limit) - mpmath.mpf(value)) / mpmath.mpf(u) for limit in (lower, upper))
        return float(mpmath.ncdf(high) - mpmath.ncdf(low))


@given(st.floats(-3, 3), st.floats(0.01, 2), st.floats(0, 2))
def test_the_probability_agrees_with_forty_digit_arithmetic(value: float, u: float, tolerance: float) -> None:
    found = probability_of_conformity(value, u, -tolerance, tolerance)

    assert found == pytest.approx(exact_normal(value, u, -tolerance, tolerance), abs=1e-14)
    assert found == pytest.approx(
        special.ndtr((tolerance - value) / u) - special.ndtr((-tolerance - value) / u), abs=1e-14
    )


@given(st.floats(-3, 3), st.floats(0.01, 2), st.floats(0, 2), st.integers(1, 300))
def test_the_probability_with_few_degrees_agrees_with_the_reference_library(
    value: float, u: float, tolerance: float, nu: int
) -> None:
    found = probability_of_conformity(value, u, -tolerance, tolerance, nu)

    by_scipy = stats.t.cdf((tolerance - value) / u, nu) - stats.t.cdf((-tolerance - value) / u, nu)
    assert found == pytest.approx(float(by_scipy), abs=4e-11)


@given(st.floats(-3, 3), st.floats(0.01, 2), st.floats(0, 2), st.sampled_from([math.inf, 2.0, 8.13, 5000.0]))
@example(5.6e-19, 0.015625, 5.6e-19, math.inf)  # a limit at zero, where only one of the mirror images would be turned
def test_the_probability_is_symmetric_in_the_error(value: float, u: float, tolerance: float, degrees: float) -> None:
    found = probability_of_conformity(value, u, -tolerance, tolerance, degrees)

    mirrored = probability_of_conformity(-value, u, -tolerance, tolerance, degrees)
    assert found == pytest.approx(mirrored, abs=1e-15)
    assert printed_probability(found) == printed_probability(mirrored)


@pytest.mark.parametrize("value", [11.0, -11.0])
def test_a_tail_keeps_its_digits_on_both_sides(value: float) -> None:
    """At eight standard uncertainties the right answer is 6.221e-16, and 1 - Phi(8) gives 6.661e-16 (mpmath 1.4.1)."""
    found = probability_of_conformity(value, 1, -3, 3)

    assert found == pytest.approx(exact_normal(value, 1, -3, 3), rel=1e-12)
    assert found == pytest.approx(6.2210e-16, rel=1e-4)


def test_a_probability_with_very_many_degrees_of_freedom_is_the_normal_one() -> None:
    normal = probability_of_conformity(0.1, 0.05, -0.2, 0.2)

    assert probability_of_conformity(0.1, 0.05, -0.2, 0.2, 1e12) == pytest.approx(normal, abs=1e-12)


@pytest.mark.parametrize("degrees", [5, 50, 5000])
def test_a_single_limit_has_a_probability_with_few_degrees_too(degrees: float) -> None:
    below = probability_of_conformity(0.1, 0.05, -math.inf, 0.2, degrees)
    above = probability_of_conformity(0.1, 0.05, 0.2, math.inf, degrees)

    assert below == pytest.approx(float(stats.t.cdf(2, degrees)), abs=2e-11)
    assert below + above == pytest.approx(1, abs=1e-12)


GUARDS = json.loads((EXAMPLES / "guard_bands.json").read_text())


@pytest.mark.parametrize(("risk", "ratio"), GUARDS["ratios"])
def test_the_guard_band_of_a_wanted_risk_is_the_share_of_u_that_the_source_gives(risk: str, ratio: float) -> None:
    """ILAC-G8:09/2019 Table 1 counts its rules so, k = 2."""
    assert round(float(guard_ratio_for(float(risk), 2)), GUARDS["digits"]) == ratio


@given(st.floats(1e-6, 0.5), st.floats(1, 4))
def test_a_value_on_the_acceptance_limit_has_at_most_the_wanted_risk(risk: float, k: float) -> None:
    u = 1.0
    width = float(guard_ratio_for(risk, k)) * k * u

    found = probability_of_nonconformity(-width, u, -math.inf, 0.0)

    assert found <= risk * (1 + 1e-9)
    assert found == pytest.approx(risk, rel=1e-8)


@given(errors, masses, masses, rules)
def test_limits_either_side_of_zero_decide_as_a_tolerance_does(
    error: Decimal, tolerance: Decimal, printed: Decimal, name: str
) -> None:
    rule = RULES[name]
    guard = rule.guard_ratio * printed
    if guard > tolerance:
        with pytest.raises(EmptyAcceptanceZone):
            verdict_within(error, Limits(-tolerance, tolerance), guard, rule.zones)
        return

    found = verdict_within(error, Limits(-tolerance, tolerance), guard, rule.zones)

    assert found == decide(error, tolerance, printed, rule)


@given(errors, errors, masses, st.sampled_from(["two", "four"]))
def test_a_lower_limit_is_the_mirror_image_of_an_upper_one(
    value: Decimal, limit: Decimal, guard: Decimal, zones: Any
) -> None:
    above = verdict_within(value, Limits(limit, None), guard, zones)

    assert above == verdict_within(-value, Limits(None, -limit), guard, zones)
    assert above in (("pass", "fail") if zones == "two" else BEST_FIRST)


@given(errors, st.floats(0.001, 5), st.floats(-5, 5))
def test_one_limit_alone_leaves_two_probabilities_that_make_one(value: Decimal, u: float, limit: float) -> None:
    for lower, upper in ((limit, math.inf), (-math.inf, limit)):
        inside = probability_of_conformity(float(value), u, lower, upper)
        outside = probability_of_nonconformity(float(value), u, lower, upper)

        assert inside + outside == pytest.approx(1, abs=1e-15)
        assert inside == pytest.approx(
            float(special.ndtr((upper - float(value)) / u) - special.ndtr((lower - float(value)) / u)), abs=1e-12
        )


@pytest.mark.parametrize("z", [2.0, 5.0, 8.0, 20.0, 37.0])
def test_a_small_probability_of_nonconformity_keeps_its_digits(z: float) -> None:
    """mpmath to 30 digits; 1 minus a probability near 1 has none left at z = 8."""
    with mpmath.workdps(30):
        exact = mpmath.ncdf(-z)

    assert probability_of_nonconformity(0.0, 1.0, -math.inf, z) == pytest.approx(float(exact), rel=1e-12)


@pytest.mark.parametrize(
    ("error", "tolerance", "printed", "said"),
    [
        ("0.1", "0.2", "0.1", "pass"), ("-0.1", "0.2", "0.1", "pass"), ("0.11", "0.2", "0.1", "undecided"),
        ("0.3", "0.2", "0.1", "undecided"), ("0.301", "0.2", "0.1", "fail"), ("-0.301", "0.2", "0.1", "fail"),
        ("0", "0.2", "0.3", "undecided"), ("0.6", "0.2", "0.3", "fail"),
    ],
)  # fmt: skip
def test_one_error_is_within_beyond_or_open_by_its_own_uncertainty(
    error: str, tolerance: str, printed: str, said: str
) -> None:
    """Guard bands w = U on both sides (JCGM 106:2012 8.3.2 and 8.3.3); a zone that is empty still lets it fail."""
    assert said_of_one(Decimal(error), Decimal(tolerance), Decimal(printed)) == said


def a_policy(rule: Any, r: str | None = None, risk: str | None = None) -> Policy:
    return replace(
        STARTING, decision_rule=rule, guard_band=GuardWidth(Decimal(r) if r else None, Decimal(risk) if risk else None)
    )


@pytest.mark.parametrize("rule", [GUARDED_ACCEPTANCE, FOUR_ZONES], ids=lambda r: r.name)
def test_a_policy_may_say_how_wide_the_guard_band_of_its_rule_is(rule: DecisionRule) -> None:
    """0.83 U: ISO 14253-1:2017 in ILAC-G8:09/2019 Table 1; a risk of 5 % asks for 0.8224 U with k = 2 (computed)."""
    by_ratio, by_risk = (rule_of(a_policy(rule.name, *width)) for width in (("0.83", None), (None, "0.05")))

    assert (by_ratio.guard_ratio, by_ratio.zones) == (Decimal("0.83"), rule.zones)
    assert by_ratio.source.endswith("w = 0.83 U, by policy")
    assert round(by_risk.guard_ratio, 4) == Decimal("0.8224")
    assert "for a risk of 0.05 at one limit" in by_risk.source


def test_an_error_between_two_widths_is_accepted_by_the_narrower_alone() -> None:
    error, tolerance, printed = Decimal("0.11"), Decimal("0.20"), Decimal("0.10")

    wide, narrow = (rule_of(a_policy("guarded acceptance", r)) for r in ("1", "0.83"))

    assert [decide(error, tolerance, printed, rule) for rule in (wide, narrow)] == ["fail", "pass"]


def test_without_a_width_the_band_is_u_and_simple_acceptance_has_none() -> None:
    assert [rule_of(replace(STARTING, decision_rule=name)) for name in RULES] == list(RULES.values())
    assert rule_of(a_policy("simple acceptance", "1")) is SIMPLE_ACCEPTANCE
