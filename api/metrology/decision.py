"""The decision: an exact error, a tolerance and the printed U become a verdict under a rule agreed beforehand.

The only place that compares an uncertainty with a tolerance. Rules follow ILAC-G8:09/2019 and JCGM 106:2012;
equality passes, at every limit (the published guidance leaves the end points open; this is a house rule).
"""

import math
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from api.metrology.coverage_factors import student_distribution, whole_degrees
from api.metrology.mass import EXACT
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
    "simple acceptance", Decimal(0), "two", "ILAC-G8:09/2019 section 4.2.1: |error| <= tolerance, no guard band"
)
GUARDED_ACCEPTANCE = DecisionRule(
    "guarded acceptance", Decimal(1), "two", "ILAC-G8:09/2019 section 4.2.2: |error| <= tolerance - U"
)
FOUR_ZONES = DecisionRule(
    "four zones",
    Decimal(1),
    "four",
    "ILAC-G8:09/2019 section 4.2.3: pass, conditional pass, conditional fail, fail, w = U",
)
RULES = {rule.name: rule for rule in (SIMPLE_ACCEPTANCE, GUARDED_ACCEPTANCE, FOUR_ZONES)}


def decide(error: Decimal, tolerance: Decimal, printed: Decimal, rule: DecisionRule) -> Verdict:
    """Return the verdict on an exact error, all three in the same unit; limits are made from the printed U.

    Refuses a guard band wider than the tolerance (`EmptyAcceptanceZone`): nothing could ever be accepted.
    """
    size = error.copy_abs()
    if not rule.guard_ratio:
        return "pass" if size <= tolerance else "fail"
    guard = EXACT.multiply(rule.guard_ratio, printed)
    if guard > tolerance:
        raise EmptyAcceptanceZone(
            f"The guard band of {guard:f} kg is wider than the tolerance of {tolerance:f} kg; "
            "more repeats, finer readings or better weights would narrow it.",
            guard_band=f"{guard:f} kg",
            tolerance=f"{tolerance:f} kg",
        )
    accepted = EXACT.subtract(tolerance, guard)
    if rule.zones == "two":
        return "pass" if size <= accepted else "fail"
    return _zone_of(size, accepted, tolerance, EXACT.add(tolerance, guard))


def _zone_of(size: Decimal, accepted: Decimal, tolerance: Decimal, rejected: Decimal) -> Verdict:
    if size <= accepted:
        return "pass"
    if size <= tolerance:
        return "conditional pass"
    return "conditional fail" if size <= rejected else "fail"


def probability_of_conformity(value: float, u: float, lower: float, upper: float, degrees: float = math.inf) -> float:
    """Return the probability that the true value lies between two limits (JCGM 106:2012 section 7).

    All four in one unit; `u` is the standard uncertainty and must be above zero. With finite degrees of freedom
    Student's t stands for the normal distribution, truncated to an integer as for k.

    >>> round(probability_of_conformity(13.6, 1.8, 12.5, 16.3), 2)
    0.66
    """
    low, high = (lower - value) / u, (upper - value) / u
    if low > 0:  # the mirror image, so that two values near 0 are subtracted and not two near 1
        low, high = -high, -low
    if math.isinf(degrees):
        return _normal_distribution(high) - _normal_distribution(low)
    whole = whole_degrees(degrees)
    return student_distribution(high, whole) - student_distribution(low, whole)


def _normal_distribution(z: float) -> float:
    """P(Z <= z) by erfc, which keeps its digits in the lower tail; `NormalDist.cdf` of Python 3.11 does not."""
    return math.erfc(-z / math.sqrt(2)) / 2
