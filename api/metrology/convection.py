"""Convection: weights that are not at the air's temperature move it, and press more or less on a balance.

EURAMET cg-18 v4.0 (11/2015) appendix F, Table F2.1, from memory (medium confidence). It matters for balances alone: 0.1 g
at most against divisions of 50 to 200 g of patient scales, for which it is never stated.
"""

import math
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from api.metrology.submission import Environment

# Own fit, in mg for m in kg and dT in K: 0.215 (m dT)^(3/4) + 0.075 m dT gives every value of Table F2.1 that is known here.
_LAMINAR_MG, _LINEAR_MG = 0.215, 0.075
# Two thermometers of the field hardly agree better: the least difference of Table F2.1 counts where less was read.
LEAST_K: Final = Decimal(1)
# Weights that stood beside the balance, nothing read: a house rule, no source.
NOT_READ_K: Final = Decimal(3)


@dataclass(frozen=True, slots=True)
class Warmth:
    """By how many kelvins weights and air are taken to differ, and why."""

    difference_k: Decimal
    source: str


def convection_mg(mass_kg: float, difference_k: float) -> float:
    """Return by how much a weight's apparent mass may be off, in milligrams, for a difference to the air's temperature.

    >>> round(convection_mg(0.2, 5), 2), round(convection_mg(50, 20), 2)
    (0.29, 113.23)
    """
    product = mass_kg * difference_k
    return _LAMINAR_MG * math.pow(product, 0.75) + _LINEAR_MG * product


def warmth_of(environment: Environment | None) -> Warmth:
    """Return how far weights and air were apart at a visit: the larger of start and end, or the bound where not read."""
    taken = [air for air in (environment.start, environment.end) if air] if environment else []
    apart = [
        abs(air.weights_temperature_c - air.temperature_c)
        for air in taken
        if air.weights_temperature_c is not None and air.temperature_c is not None
    ]
    if not apart:
        return Warmth(NOT_READ_K, "temperature of the weights not read: house bound")
    read = max(apart)
    if read < LEAST_K:
        return Warmth(LEAST_K, f"read as {read:f} K, taken as {LEAST_K} K at least")
    return Warmth(read, "read at the visit")
