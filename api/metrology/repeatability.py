"""Repeatability: the range of several weighings of one load, and the standard deviation in exact grid counts."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from api.metrology.refusals import TooFewReadings
from api.metrology.scale import grid_count

# Common practice, no source: two readings leave one degree of freedom, with which k is 13.97 (GUM Table G.2). R 76 asks for
# no more than three of classes III and IIII at a verification (from memory, high confidence).
LEAST_READINGS = 3


@dataclass(frozen=True, slots=True)
class Spread:
    """The standard deviation of a single reading in kg, its degrees of freedom, and what it was taken from."""

    s_kg: float
    degrees_of_freedom: float
    source: str


@dataclass(frozen=True, slots=True)
class Repeats:
    """Weighings of one load in one unit: values as shown, and the division in which they count."""

    shown: tuple[Decimal, ...]
    d: Decimal
    d_kg: Decimal


def range_of(shown: Sequence[Decimal]) -> Decimal:
    """Return the largest minus the smallest of several weighings of one load; refuses fewer than three."""
    if len(shown) < LEAST_READINGS:
        raise TooFewReadings(
            f"{len(shown)} weighings of one load; repeatability needs {LEAST_READINGS} at least.", found=str(len(shown))
        )
    return max(shown) - min(shown)


def variance_in_divisions(shown: Sequence[Decimal], d: Decimal) -> float:
    """Return the variance of shown values in squared divisions, from an exact integer numerator."""
    counts = [grid_count(value, d) for value in shown]
    n = len(counts)
    return (n * sum(c * c for c in counts) - sum(counts) ** 2) / (n * (n - 1))


def pooled_spread(sets: Sequence[Repeats]) -> Spread:
    """Return s pooled over the loads of one visit, its degrees of freedom added.

    Refuses sets of fewer than three readings (`TooFewReadings`) and readings off the grid (`OffGrid`).
    """
    for repeats in sets:
        range_of(repeats.shown)
    degrees = sum(len(r.shown) - 1 for r in sets)
    squares = sum(variance_in_divisions(r.shown, r.d) * float(r.d_kg) ** 2 * (len(r.shown) - 1) for r in sets)
    count = sum(len(r.shown) for r in sets)
    return Spread(
        math.sqrt(squares / degrees),
        degrees,
        f"s of {count} weighings at {len(sets)} load{'' if len(sets) == 1 else 's'} of this visit, single reading",
    )
