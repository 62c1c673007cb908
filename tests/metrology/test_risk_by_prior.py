"""The risks of a decision by a policy's prior, against integrals by another hand, and what they may not change."""

import math
from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats
from scipy.integrate import quad

from api.metrology.judgement import PointJudgement
from api.metrology.judging import judge
from api.metrology.policy import STARTING, GuardWidth, Policy, Prior
from api.metrology.risk import Process, known_after
from api.metrology.risk_by_prior import RiskByPrior
from tests.metrology.a_case import a_case, a_reading, a_visit, all_required, found_of, stack

HALF_TOLERANCE = Prior(Decimal(0), Decimal("0.5"), "tolerance")
DIVISIONS = Prior(Decimal("0.2"), Decimal("0.45"), "division")


def points(policy: Policy, *shown: str) -> tuple[PointJudgement, ...]:
    """Return the points of a visit with every required test, and readings of 100 kg."""
    more = [a_reading("first loading", text, stack(100)) for text in shown]
    return found_of(judge(a_case(a_visit([*all_required(), *more]), policy=policy))).points


def the_last(policy: Policy, shown: str) -> tuple[PointJudgement, RiskByPrior]:
    point = points(policy, shown)[-1]
    assert point.risk is not None
    return point, point.risk


def sizes(point: PointJudgement) -> tuple[float, float, float, float]:
    """Return error, u, tolerance and printed U of a point, in kilograms."""
    assert point.error_kg is not None
    assert point.budget is not None
    assert point.tolerance is not None
    return float(point.error_kg), point.budget.combined, float(point.tolerance.kg), float(point.budget.printed)


def share_beyond(before: Process, value: float, u: float, tolerance: float) -> float:
    """Bayes' theorem by scipy's integrator: prior times likelihood outside the tolerance, over the whole of it."""
    mean, deviation = before.mean, before.standard_deviation

    def joint(eta: float) -> float:
        return float(stats.norm.pdf(eta, mean, deviation) * stats.norm.pdf(value, eta, u))

    far = 12 * max(deviation, u)
    least, most = min(mean, value) - far, max(mean, value) + far
    cuts = [mean, value, -tolerance, tolerance]
    inside = quad(joint, -tolerance, tolerance, points=[c for c in cuts if abs(c) < tolerance], limit=300)[0]
    outside = sum(quad(joint, a, b, limit=300)[0] for a, b in ((least, -tolerance), (tolerance, most)))
    return outside / (inside + outside)


@pytest.mark.parametrize("prior", [HALF_TOLERANCE, DIVISIONS], ids=["of the tolerance", "in divisions"])
@pytest.mark.parametrize("shown", ["100.0", "100.1", "99.8", "100.3"])
def test_the_specific_risk_is_what_bayes_theorem_leaves_beyond_or_within_the_tolerance(
    prior: Prior, shown: str
) -> None:
    """JCGM 106:2012 7.2 and 9.3, from memory; 100 kg x 0.1 kg has 0.2 kg by HB 44 Table 6 (second-hand)."""
    point, risk = the_last(replace(STARTING, prior=prior), shown)

    error, u, tolerance, _ = sizes(point)
    beyond = share_beyond(risk.before, error, u, tolerance)
    assert risk.specific.on == ("producer" if shown == "100.3" else "consumer")
    assert risk.specific.probability == pytest.approx(1 - beyond if shown == "100.3" else beyond, rel=1e-6, abs=1e-12)


@pytest.mark.parametrize(("prior", "mean", "deviation"), [(HALF_TOLERANCE, 0.0, 0.1), (DIVISIONS, 0.02, 0.045)])
def test_the_prior_is_counted_in_the_tolerance_or_in_the_division(prior: Prior, mean: float, deviation: float) -> None:
    """At 100 kg: tolerance 0.2 kg, d 0.1 kg."""
    _, risk = the_last(replace(STARTING, prior=prior), "100.0")

    assert (risk.before.mean, risk.before.standard_deviation) == (pytest.approx(mean), pytest.approx(deviation))


RULES = {
    "simple": (STARTING, lambda t, printed: t),
    "guarded": (replace(STARTING, decision_rule="guarded acceptance"), lambda t, printed: t - printed),
    "half a guard": (
        replace(STARTING, decision_rule="guarded acceptance", guard_band=GuardWidth(r=Decimal("0.5"))),
        lambda t, printed: t - printed / 2,
    ),
    "four zones": (replace(STARTING, decision_rule="four zones"), lambda t, printed: t),
}


@pytest.mark.parametrize("rule", sorted(RULES))
def test_the_consumer_s_risk_is_the_share_of_scales_that_are_bad_and_accepted(rule: str) -> None:
    """JCGM 106:2012 9.5, from memory: by scipy's two-dimensional normal distribution of true and measured error."""
    policy, limit = RULES[rule]

    point, risk = the_last(replace(policy, prior=HALF_TOLERANCE), "100.0")

    _, u, tolerance, printed = sizes(point)
    of_process, accepted = risk.before.standard_deviation, limit(tolerance, printed)
    covariance = [[of_process**2, of_process**2], [of_process**2, of_process**2 + u**2]]
    both = stats.multivariate_normal([0.0, 0.0], covariance, allow_singular=False)
    below = both.cdf([-tolerance, accepted]) - both.cdf([-tolerance, -accepted])
    assert risk.consumer == pytest.approx(2 * below, rel=1e-4)


def test_a_guard_band_lowers_the_consumer_s_risk() -> None:
    risks = {name: the_last(replace(RULES[name][0], prior=HALF_TOLERANCE), "100.0")[1].consumer for name in RULES}

    assert risks["guarded"] < risks["half a guard"] < risks["simple"] == risks["four zones"]


def test_a_prior_changes_no_verdict_error_or_u() -> None:
    shown = ("100.0", "100.2", "100.3", "99.7")

    without, with_prior = points(STARTING, *shown), points(replace(STARTING, prior=DIVISIONS), *shown)

    assert [point.risk for point in without] == [None] * len(without)
    assert tuple(point._replace(risk=None) for point in with_prior) == without


def test_a_point_that_decides_nothing_has_no_risk() -> None:
    assert points(replace(STARTING, prior=DIVISIONS), "100.05")[-1].verdict == "undecided"  # off the grid
    assert points(replace(STARTING, prior=DIVISIONS), "100.05")[-1].risk is None


def test_a_repeated_reading_has_the_risk_of_the_first() -> None:
    first, again = points(replace(STARTING, prior=DIVISIONS), "100.1", "100.1")[-2:]

    assert first.risk is not None
    assert again.risk == first.risk


@given(st.floats(-1, 1), st.floats(0.01, 10), st.floats(-1, 1), st.floats(0.01, 10))
def test_what_is_known_after_a_reading_is_narrower_than_prior_and_reading_and_lies_between(
    mean: float, deviation: float, value: float, u: float
) -> None:
    after = known_after(Process(mean, deviation), value, u)

    assert after.standard_deviation < min(deviation, u)
    assert min(mean, value) - 1e-12 <= after.mean <= max(mean, value) + 1e-12
    assert 1 / after.standard_deviation**2 == pytest.approx(1 / deviation**2 + 1 / u**2)
    assert math.isfinite(after.mean)
