"""The decision: an exact error, a tolerance and the printed U become a verdict under a rule agreed beforehand.

The only place that compares an uncertainty with a tolerance. Rules follow ILAC-G8:09/2019 and JCGM 106:2012;
equality passes, at every limit (the published guidance leaves the end points open; this is a house rule).
"""

import math
from dataclasses import dataclass, replace
from decimal import ROUND_CEILING, Context, Decimal
from typing import Final, Literal

from api.metrology.coverage_factors import NORMAL, normal_distribution, student_distribution, whole_degrees
from api.metrology.mass import EXACT
from api.metrology.policy import Policy
from api.metrology.refusals import EmptyAcceptanceZone
from api.metrology.verdict import Verdict


@dataclass(frozen=True, slots=True)
class DecisionRule:
    """How a verdict is reached: guard band w = ratio x U, and whether it speaks in two words or four."""

    name: str
    guard_ratio: Decimal
    zones: Literal["two", "four"]
    source: str


SIMPLE_ACCEPTANCE = DecisionRule(
    "simple acceptance", Decimal(0), "two", "ILAC-G8:09/2019 section 4.2.1: |error| ≤ tolerance, no guard band"
)
GUARDED_ACCEPTANCE = DecisionRule(
    "guarded acceptance", Decimal(1), "two", "ILAC-G8:09/2019 section 4.2.2: |error| ≤ tolerance − U"
)
FOUR_ZONES = DecisionRule(
    "four zones",
    Decimal(1),
    "four",
    "ILAC-G8:09/2019 section 4.2.3: pass, conditional pass, conditional fail, fail, w = U",
)
_CLAUSES = {"guarded acceptance": "4.2.2", "four zones": "4.2.3"}
RULES = {rule.name: rule for rule in (SIMPLE_ACCEPTANCE, GUARDED_ACCEPTANCE, FOUR_ZONES)}


@dataclass(frozen=True, slots=True)
class GuardedLimits:
    """What the size of an error is compared with: the guard band w, accepted up to T - w, rejected beyond T + w."""

    guard: Decimal
    accepted: Decimal
    rejected: Decimal


def limits_of(tolerance: Decimal, printed: Decimal, rule: DecisionRule) -> GuardedLimits:
    """Return the limits that a rule makes from a tolerance and the printed U, exact, all in the same unit.

    A guard band wider than the tolerance leaves an accepted size below zero: nothing could ever be accepted.
    """
    guard = EXACT.multiply(rule.guard_ratio, printed)
    return GuardedLimits(guard, EXACT.subtract(tolerance, guard), EXACT.add(tolerance, guard))


def decide(error: Decimal, tolerance: Decimal, printed: Decimal, rule: DecisionRule) -> Verdict:
    """Return the verdict on an exact error, all three in the same unit; limits are made from the printed U.

    Refuses a guard band wider than the tolerance (`EmptyAcceptanceZone`): nothing could ever be accepted.
    """
    size = error.copy_abs()
    if not rule.guard_ratio:
        return "pass" if size <= tolerance else "fail"
    limits = limits_of(tolerance, printed, rule)
    if limits.guard > tolerance:
        raise EmptyAcceptanceZone(
            f"The guard band of {limits.guard:f} kg is wider than the tolerance of {tolerance:f} kg; "
            "more repeats, finer readings or better weights would narrow it.",
            guard_band=f"{limits.guard:f} kg",
            tolerance=f"{tolerance:f} kg",
        )
    return verdict_within(size, Limits(None, tolerance), limits.guard, rule.zones)


Answer = Literal["met", "not met", "cannot say"]


def requirement_answer(error: Decimal, limit: Decimal, printed: Decimal) -> Answer:
    """Return whether a user's own requirement is met, all three in the same unit.

    Met where |error| + U <= limit, so that nothing is promised too early; not met where |error| > limit, so that bad news
    does not hide behind U; between the two it cannot be said (house rule, after ILAC-G8:09/2019 section 4.2.3).
    """
    size = error.copy_abs()
    if size > limit:
        return "not met"
    return "met" if EXACT.add(size, printed) <= limit else "cannot say"


@dataclass(frozen=True, slots=True)
class Limits:
    """Tolerance limits of any quantity, exact, in one unit; one of them may be missing."""

    lower: Decimal | None
    upper: Decimal | None

    def moved_in(self, by: Decimal) -> "Limits":
        """Return the limits moved towards each other by a guard band, or apart by a negative one."""
        return Limits(
            None if self.lower is None else EXACT.add(self.lower, by),
            None if self.upper is None else EXACT.subtract(self.upper, by),
        )

    def hold(self, value: Decimal) -> bool:
        """Return whether a value lies within: at a limit it does."""
        return (self.lower is None or self.lower <= value) and (self.upper is None or value <= self.upper)


def acceptance_limits(limits: Limits, guard: Decimal) -> Limits:
    """Return the limits within which a value is accepted: the tolerance limits moved in by the guard band.

    Refuses a guard band so wide that nothing is left between them (`EmptyAcceptanceZone`).
    """
    accepted = limits.moved_in(guard)
    if accepted.lower is not None and accepted.upper is not None and accepted.lower > accepted.upper:
        raise EmptyAcceptanceZone(
            f"A guard band of {guard:f} leaves nothing between {limits.lower:f} and {limits.upper:f}: the uncertainty is too "
            "large for these limits; more repeats, finer readings or better standards would narrow it.",
            guard_band=f"{guard:f}",
            lower=f"{limits.lower:f}",
            upper=f"{limits.upper:f}",
        )
    return accepted


def verdict_within(value: Decimal, limits: Limits, guard: Decimal, zones: Literal["two", "four"]) -> Verdict:
    """Return the verdict on a value within limits, one- or two-sided, with a guard band of a width; equality passes."""
    if acceptance_limits(limits, guard).hold(value):
        return "pass"
    if zones == "two":
        return "fail"
    if limits.hold(value):
        return "conditional pass"
    return "conditional fail" if limits.moved_in(guard.copy_negate()).hold(value) else "fail"


def rule_of(policy: Policy) -> DecisionRule:
    """Return the rule of a policy with the width of its guard band; w = U where the policy names none.

    For a wanted risk k is taken as 2, as ILAC-G8:09/2019 Table 1 does; where few readings make U larger, so is the band.
    """
    rule, width = RULES[policy.decision_rule], policy.guard_band
    if width is None or not rule.guard_ratio:
        return rule
    ratio = width.r if width.r is not None else guard_ratio_for(float(width.risk or 0), 2)
    wanted = "by policy" if width.r is not None else f"for a risk of {width.risk} at one limit, k = 2"
    source = f"ILAC-G8:09/2019 section {_CLAUSES[rule.name]}: w = {ratio.normalize():f} U, {wanted}"
    return replace(rule, guard_ratio=ratio, source=source)


# A ratio is rounded up at its tenth decimal, so that the risk is never above the one wanted.
_RATIO: Final = Context(prec=40, rounding=ROUND_CEILING)


def guard_ratio_for(risk: float, k: float) -> Decimal:
    """Return w / U for a wanted risk of accepting at one limit what lies beyond it: z(1 - risk) / k, so that w = z u.

    The quantile is taken in the lower tail, where a small risk keeps its digits. The worst case, a value on the acceptance
    limit itself, as ILAC-G8:09/2019 Table 1 counts its rules.

    >>> guard_ratio_for(0.025, 2)
    Decimal('0.9799819923')
    """
    return Decimal(-NORMAL.inv_cdf(risk) / k).quantize(Decimal("1e-10"), context=_RATIO)


def probability_of_conformity(value: float, u: float, lower: float, upper: float, degrees: float = math.inf) -> float:
    """Return the probability that the true value lies between two limits (JCGM 106:2012 section 7).

    All four in one unit; `u` is the standard uncertainty and must be above zero. A limit that is not there is minus or plus
    infinity. With finite degrees of freedom Student's t stands for the normal distribution, truncated to an integer as for k.

    >>> round(probability_of_conformity(13.6, 1.8, 12.5, 16.3), 2)
    0.66
    """
    low, high = (lower - value) / u, (upper - value) / u
    if low + high > 0:  # the mirror image: one answer for both signs, and two values near 0 subtracted, not two near 1
        low, high = -high, -low
    return _below(high, degrees) - _below(low, degrees)


def probability_of_nonconformity(
    value: float, u: float, lower: float, upper: float, degrees: float = math.inf
) -> float:
    """Return the probability that the true value lies outside two limits: both tails added, each with all its digits.

    >>> f"{probability_of_nonconformity(0, 1, -8, math.inf):.4g}"
    '6.221e-16'
    """
    return _below((lower - value) / u, degrees) + _below((value - upper) / u, degrees)


def _below(z: float, degrees: float) -> float:
    return normal_distribution(z) if math.isinf(degrees) else student_distribution(z, whole_degrees(degrees))


def said_of_one(error: Decimal, tolerance: Decimal, printed: Decimal) -> Verdict:
    """Return what a single error with its printed U can be said to be: `pass`, `fail`, or `undecided` between the two.

    Guarded both ways with w = U (JCGM 106:2012 section 8.3.2 and 8.3.3, from memory): an acceptance zone that is empty
    still leaves rejection. All three in one unit.
    """
    size = error.copy_abs()
    if EXACT.add(size, printed) <= tolerance:
        return "pass"
    return "fail" if EXACT.subtract(size, printed) > tolerance else "undecided"
