"""Student's t: its distribution and the coverage factors read from it. No tables: computed to double precision.

Integer degrees of freedom only, as GUM (JCGM 100:2008) G.4.1 truncates them. Checked against GUM table G.2 in the tests.
"""

import math
from functools import lru_cache
from statistics import NormalDist

NORMAL = NormalDist()

# The usual level: about 95 %, exactly two standard deviations of a normal distribution (GUM table G.2 column 95.45).
USUAL_PROBABILITY = 0.9545

# Above this many degrees of freedom the series in 1/nu (Abramowitz & Stegun 26.7.5, four terms) is exact to about
# 1e-14 of the value at the usual level.
_MANY = 1000
_SEVERAL = 20


def normal_distribution(z: float) -> float:
    """Return P(Z <= z) by erfc, which keeps its digits in the lower tail; `NormalDist.cdf` of Python 3.11 does not."""
    return math.erfc(-z / math.sqrt(2)) / 2


def student_distribution(t: float, degrees: int) -> float:
    """Return P(T <= t) for Student's t with integer degrees of freedom.

    By finite sums (A & S 26.7.3, 26.7.4), from 20 degrees on by Hill's normalising expansion: both better than 1e-10.
    """
    if degrees >= _SEVERAL:
        return math.erfc(-math.copysign(_normalised(abs(t), degrees), t) / math.sqrt(2)) / 2
    return 0.5 + math.copysign(_central(abs(t), degrees), t) / 2


def _normalised(t: float, degrees: int) -> float:
    """The normal deviate with the same tail as t (G. W. Hill, Algorithm 395, Comm. ACM 13, 1970; from memory)."""
    a = degrees - 0.5
    b = 48 * a * a
    y = a * math.log1p(min(t, 1e6) ** 2 / degrees)  # beyond a million nothing is left, and infinity would give NaN
    return (((((-0.4 * y - 3.3) * y - 24) * y - 85.5) / (0.8 * y * y + 100 + b) + y + 3) / b + 1) * math.sqrt(y)


def _central(t: float, degrees: int) -> float:
    """P(-t <= T <= t), Abramowitz & Stegun 26.7.3 (odd) and 26.7.4 (even)."""
    theta = math.atan2(t, math.sqrt(degrees))
    cos2, sin = math.cos(theta) ** 2, math.sin(theta)
    odd = degrees % 2
    term = math.cos(theta) if odd else 1.0
    total = term if degrees > 1 else 0.0
    for j in range(3 if odd else 2, degrees - 1, 2):
        term *= cos2 * (j - 1) / j
        total += term
    return 2 / math.pi * (theta + sin * total) if odd else sin * total


@lru_cache(maxsize=4096)
def student_quantile(probability: float, degrees: int) -> float:
    """Return t such that P(-t <= T <= t) is the probability, for integer degrees of freedom of at least 1."""
    if degrees > _MANY:
        return _quantile_of_many(NORMAL.inv_cdf((1 + probability) / 2), degrees)
    low, high = 0.0, 1.0
    while _central(high, degrees) < probability:
        high *= 2
    while (middle := (low + high) / 2) not in (low, high):
        low, high = (middle, high) if _central(middle, degrees) < probability else (low, middle)
    return high


def _quantile_of_many(x: float, degrees: int) -> float:
    """Abramowitz & Stegun 26.7.5, the terms to nu**-4."""
    first = (x**3 + x) / 4
    second = (5 * x**5 + 16 * x**3 + 3 * x) / 96
    third = (3 * x**7 + 19 * x**5 + 17 * x**3 - 15 * x) / 384
    fourth = (79 * x**9 + 776 * x**7 + 1482 * x**5 - 1920 * x**3 - 945 * x) / 92160
    one = 1 / float(degrees)  # powers of the inverse: degrees**4 of an enormous count is no float
    return x + one * (first + one * (second + one * (third + one * fourth)))


def whole_degrees(effective_degrees: float) -> int:
    """Return finite effective degrees of freedom truncated to the next lower integer, at least 1 (GUM G.4.1).

    A value that floating-point division left a hair below an integer counts as that integer.

    >>> whole_degrees(8.128), whole_degrees(1 / (1 / 93))
    (8, 93)
    """
    return max(1, math.floor(effective_degrees * (1 + 1e-12)))


def coverage_factor(effective_degrees: float, probability: float = USUAL_PROBABILITY) -> float:
    """Return k for effective degrees of freedom, truncated to the next lower integer (GUM G.4.1).

    Infinite degrees give exactly 2 at the usual level of 95.45 %, else the normal quantile.

    >>> round(coverage_factor(8.128), 4)
    2.3664
    """
    if math.isinf(effective_degrees):
        return 2.0 if probability == USUAL_PROBABILITY else NORMAL.inv_cdf((1 + probability) / 2)
    return student_quantile(probability, whole_degrees(effective_degrees))
