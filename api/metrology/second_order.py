"""Second-order terms of a model that bends: the note to 5.1.2 of the GUM (JCGM 100:2008), inputs independent.

For each two inputs a and b, both ways, and for each with itself, the variance grows by
[1/2 (d2f/da db)^2 + df/da d3f/da db2] u^2(a) u^2(b). It holds where inputs lie evenly about their values.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Bend:
    """How the model bends along two inputs a and b, by their places, or along one twice; each pair once.

    `second` is d2f/da db, `third` d3f/da db2, `third_back` d3f/db da2: 0 where a and b are the same.
    """

    one: int
    other: int
    second: float
    third: float = 0.0
    third_back: float = 0.0


def second_order_variance(u: Sequence[float], sensitivities: Sequence[float], bends: Sequence[Bend]) -> float:
    """Return what the second order adds to the variance of the first; below zero where third derivatives take away.

    >>> second_order_variance([1.0, 2.0], [0.0, 0.0], [Bend(0, 1, 3.0)])
    36.0
    """
    return math.fsum(_term(bend, u, sensitivities) for bend in bends)


def _term(bend: Bend, u: Sequence[float], sensitivities: Sequence[float]) -> float:
    squares = (u[bend.one] * u[bend.other]) ** 2
    thirds = sensitivities[bend.one] * bend.third + sensitivities[bend.other] * bend.third_back
    ways = 1 if bend.one == bend.other else 2
    return (ways / 2 * bend.second**2 + thirds) * squares
