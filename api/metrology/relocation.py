"""What a scale reads wrong after a move: a load cell adjusted at one g and used at another.

Only for a scale that measures force and was not adjusted again on site: one with a weight built in, a beam or an equal arm
balance is immune (common practice, no source).
"""

import math
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Gravity:
    """A value of g in m/s2 and its standard uncertainty."""

    g: float
    standard_uncertainty: float = 0.0


@dataclass(frozen=True, slots=True)
class Shift:
    """The shift of the indication at a load, in the load's unit, with its standard uncertainty and the relative shift."""

    shift: float
    standard_uncertainty: float
    relative: float


def relocation_shift(load: float, adjusted_at: Gravity, used_at: Gravity) -> Shift:
    """Return the error that the move leaves: load x (g_to / g_from - 1), positive where the scale now reads heavy.

    Its uncertainty comes from the two values of g, taken as independent (GUM, JCGM 100:2008, 5.1.2).

    >>> round(1000 * relocation_shift(150, Gravity(9.801018), Gravity(9.809257012)).shift, 4)
    126.0942
    """
    ratio = used_at.g / adjusted_at.g
    parts = (used_at.standard_uncertainty / adjusted_at.g, ratio * adjusted_at.standard_uncertainty / adjusted_at.g)
    relative = (used_at.g - adjusted_at.g) / adjusted_at.g
    return Shift(load * relative, abs(load) * math.hypot(*parts), relative)
