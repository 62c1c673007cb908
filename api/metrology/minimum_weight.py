"""The minimum weight: the smallest net load for which a balance is good enough, by two published rules.

Refused where the rule gives none: that is an answer about the balance, never a negative mass.
"""

from decimal import Decimal
from typing import Final

from api.metrology.mass import EXACT
from api.metrology.refusals import NoMinimumWeight

# USP general chapter 41: twice s over the smallest net weight at most 0.10 %, and s counted as at least 0.41 d; both read
# in public texts that quote it. 0.41 is close to the two roundings of one weighing, sqrt(1/6) d.
USP_MULTIPLE: Final = Decimal(2000)
USP_LEAST_IN_DIVISIONS: Final = Decimal("0.41")


def minimum_weight_usp(standard_deviation: Decimal, division: Decimal) -> Decimal:
    """Return 2000 times s, with s at least 0.41 d: exact, in the unit of both (USP general chapter 41).

    >>> minimum_weight_usp(Decimal("0.00015"), Decimal("0.0001"))
    Decimal('0.30000')
    >>> minimum_weight_usp(Decimal("0.00001"), Decimal("0.0001")).normalize()
    Decimal('0.082')
    """
    return EXACT.multiply(USP_MULTIPLE, counted_deviation(standard_deviation, division))


def counted_deviation(standard_deviation: Decimal, division: Decimal) -> Decimal:
    """Return the s that counts: the one found, or 0.41 d where that is larger."""
    return max(standard_deviation, EXACT.multiply(USP_LEAST_IN_DIVISIONS, division))


def minimum_weight_in_use(alpha: float, beta: float, requirement: float, safety_factor: float = 1.0) -> float:
    """Return alpha SF / (Req - beta SF), in the unit of alpha: EURAMET cg-18 v4.0 appendix G, from memory (medium).

    The uncertainty in use is taken as alpha + beta R, the requirement as a share of the net weight. Refuses where the
    share that grows with the load alone uses up the requirement (`NoMinimumWeight`).

    >>> round(minimum_weight_in_use(0.0004, 0.00001, 0.001, 2), 6)
    0.816327
    """
    left = requirement - beta * safety_factor
    if left <= 0:
        raise NoMinimumWeight(
            f"No load is good enough: the share of the load in the uncertainty, {beta * safety_factor:g} with its safety "
            f"factor, is not below the requirement of {requirement:g}.",
            beta=f"{beta:g}",
            safety_factor=f"{safety_factor:g}",
            requirement=f"{requirement:g}",
        )
    return alpha * safety_factor / left
