"""Contributions that depend on each other: what they bring to a result together (GUM, JCGM 100:2008, 5.2).

Those that are correlated are brought together into one, which is independent of the rest: whatever holds for independent
contributions holds from there on.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Final

from api.metrology.refusals import ImpossibleCorrelations

# What the rounding of sixteen digits may leave of a pivot that is 0, and of a value beside it (the root of that).
_NOTHING: Final = 1e-9


@dataclass(frozen=True, slots=True)
class Correlation:
    """The correlation coefficient r, from -1 to 1, of two different contributions, by their places; each pair once."""

    first: int
    second: int
    r: float


def correlation_of(first: Sequence[Decimal], second: Sequence[Decimal]) -> float:
    """Return r of readings that were taken in pairs, which is that of their means too (GUM 5.2.3, C.3.6).

    From exact sums. 0 where one of the two never moved: it brings nothing then.

    >>> correlation_of([Decimal(1), Decimal(2), Decimal(4)], [Decimal(-2), Decimal(-4), Decimal(-8)])
    -1.0
    """
    one, other = _from_mean(first), _from_mean(second)
    along = sum(a * b for a, b in zip(one, other, strict=True))
    across = sum(a * a for a in one) * sum(b * b for b in other)
    return math.copysign(math.sqrt(along * along / across), along) if across else 0.0


def _from_mean(readings: Sequence[Decimal]) -> list[Fraction]:
    exact = [Fraction(reading) for reading in readings]
    mean = sum(exact, Fraction(0)) / len(exact)
    return [value - mean for value in exact]


def covariance(one: Sequence[float], other: Sequence[float], correlations: Sequence[Correlation]) -> float:
    """Return the covariance of two results of the same inputs, or the variance of one with itself (GUM 5.2.2, F.1.2.3).

    `one` and `other` are what each input brings to them: sensitivity times standard uncertainty, with its sign.
    """
    alone = [a * b for a, b in zip(one, other, strict=True)]
    together = [c.r * (one[c.first] * other[c.second] + one[c.second] * other[c.first]) for c in correlations]
    return math.fsum((*alone, *together))


def brought_together(
    shares: Sequence[float], degrees: Sequence[float], correlations: Sequence[Correlation]
) -> tuple[list[float], list[float]]:
    """Return shares (with their signs) and degrees of freedom, each group of correlated ones made into one.

    A group has the fewest degrees of freedom of its members: right where all were read together, cautious elsewhere (a
    house rule; Welch-Satterthwaite takes independent contributions, GUM G.4.1).

    Refuses coefficients that no quantities can have among each other (`ImpossibleCorrelations`).
    """
    linked = [c for c in correlations if c.r]
    groups = _groups(linked)
    alone = [place for place in range(len(shares)) if not any(place in group for group in groups)]
    found = [(shares[place], degrees[place]) for place in alone]
    for group in groups:
        within = [c for c in linked if c.first in group]
        _refuse_impossible(group, within)
        brought = [share if place in group else 0.0 for place, share in enumerate(shares)]
        variance = max(0.0, covariance(brought, brought, within))
        found.append((math.sqrt(variance), min(degrees[place] for place in group)))
    return [share for share, _ in found], [nu for _, nu in found]


def _groups(correlations: Sequence[Correlation]) -> list[set[int]]:
    """The places that hang together, through others too."""
    groups: list[set[int]] = []
    for pair in [{c.first, c.second} for c in correlations]:
        touched = [group for group in groups if group & pair]
        groups = [group for group in groups if not group & pair] + [pair.union(*touched)]
    return groups


def _refuse_impossible(group: set[int], correlations: Sequence[Correlation]) -> None:
    """No sum of the members may have a variance below 0: elimination without exchange, every pivot 0 or more."""
    left = _matrix(sorted(group), correlations)
    for step, row in enumerate(left):
        pivot, below = row[step], range(step + 1, len(left))
        negligible = abs(pivot) <= _NOTHING
        if pivot < -_NOTHING or (negligible and any(abs(row[at]) > math.sqrt(_NOTHING) for at in below)):
            raise ImpossibleCorrelations(
                "No quantities can have these correlation coefficients among each other: a sum of them would have a "
                "variance below zero. Accepted: coefficients of one set of data, with all their digits."
            )
        for at in below if not negligible else ():
            factor = row[at] / pivot
            for to in below if factor else ():
                left[at][to] -= factor * row[to]


def _matrix(places: Sequence[int], correlations: Sequence[Correlation]) -> list[list[float]]:
    index = {place: at for at, place in enumerate(places)}
    matrix = [[1.0 if row == column else 0.0 for column in range(len(places))] for row in range(len(places))]
    for c in correlations:
        matrix[index[c.first]][index[c.second]] = matrix[index[c.second]][index[c.first]] = c.r
    return matrix
