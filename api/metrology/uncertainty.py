"""Combined and expanded uncertainty: GUM (JCGM 100:2008) sections 5 and 6, annex G. What goes in is `contributions`'."""

import math
from collections.abc import Sequence

from api.metrology.budget import Budget, Contribution
from api.metrology.coverage_factors import USUAL_PROBABILITY, coverage_factor
from api.metrology.refusals import NegativeVariance
from api.metrology.rounding import printed_uncertainty


def combined(contributions: Sequence[Contribution]) -> float:
    """Return the combined standard uncertainty of independent contributions: the root of the sum of squares."""
    return math.hypot(*[c.sensitivity * c.standard_uncertainty for c in contributions])


def effective_degrees_of_freedom(contributions: Sequence[Contribution], u: float) -> float:
    """Return the effective degrees of freedom by Welch-Satterthwaite (GUM G.2b), infinite where nothing limits them."""
    return _effective([c.share for c in contributions], [c.degrees_of_freedom for c in contributions], u)


def coverage_of(
    shares: Sequence[float],
    degrees: Sequence[float],
    probability: float = USUAL_PROBABILITY,
    second_order: float = 0.0,
) -> tuple[float, float, float]:
    """Return u, its effective degrees of freedom and k, from what each contribution brings and its degrees of freedom.

    `second_order` is what the second order of the model adds to the variance, without a limit to its degrees of freedom.
    Refuses one that leaves less than nothing (`NegativeVariance`).
    """
    u = math.hypot(*shares)
    if second_order:
        u = _with_second_order(u, second_order)
    effective = _effective(shares, degrees, u)
    return u, effective, coverage_factor(effective, probability)


def _with_second_order(u: float, variance: float) -> float:
    if (total := u * u + variance) < 0:
        raise NegativeVariance(
            "The second-order terms take more variance away than the first order has: this model bends too strongly for two "
            "orders. Draw it instead (JCGM 101:2008)."
        )
    return math.sqrt(total)


def _effective(shares: Sequence[float], degrees: Sequence[float], u: float) -> float:
    if u == 0:
        return math.inf
    total = 0.0
    for share, nu in zip(shares, degrees, strict=True):
        if nu != math.inf:
            total += (share / u) ** 4 / nu
    return 1 / total if total else math.inf


def budget_of(contributions: Sequence[Contribution], probability: float = USUAL_PROBABILITY) -> Budget:
    """Return the complete budget: u, effective degrees of freedom, k, U and U as printed (two digits, half-even)."""
    shares = [c.sensitivity * c.standard_uncertainty for c in contributions]
    u, degrees, k = coverage_of(shares, [c.degrees_of_freedom for c in contributions], probability)
    return Budget(tuple(contributions), u, degrees, k, probability, k * u, printed_uncertainty(k * u))
