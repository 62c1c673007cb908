"""Risks of a decision: of one that was taken (specific), and of all that will be (global).

Specific: the probability that this item was wrongly accepted or rejected. Global: how often a process and its measurement
together accept what is bad, or reject what is good (JCGM 106:2012 section 9). Process and measurement are normal. The
integrals are taken by Gauss-Legendre sums of 20 points over panels no wider than three standard deviations of either, which
leaves less than 1e-10 (shown in the tests).
"""

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from typing import Final, Literal

from api.metrology.coverage_factors import normal_distribution
from api.metrology.verdict import Verdict

_POINTS: Final = 20
_WIDE: Final = 3  # a panel's width, in standard deviations
_FAR: Final = 9  # beyond nine standard deviations lies 1e-19 of a normal distribution


@dataclass(frozen=True, slots=True)
class Process:
    """What is made, before anyone measures it: mean and standard deviation of the quantity."""

    mean: float
    standard_deviation: float


@dataclass(frozen=True, slots=True)
class GlobalRisk:
    """Shares of all items: bad ones accepted (the consumer's risk) and good ones rejected (the producer's risk)."""

    consumer: float
    producer: float


@dataclass(frozen=True, slots=True)
class SpecificRisk:
    """The probability that one decision is wrong, and on whom it falls: consumer if accepted, producer if rejected."""

    on: Literal["consumer", "producer"]
    probability: float


def specific_risk(verdict: Verdict, conforming: float, nonconforming: float) -> SpecificRisk:
    """Return the specific risk of a verdict: accepted, that it does not conform; rejected, that it does.

    JCGM 106:2012 section 9.3, from memory. A conditional pass accepts, a conditional fail rejects.
    """
    if verdict in ("pass", "conditional pass"):
        return SpecificRisk("consumer", nonconforming)
    return SpecificRisk("producer", conforming)


@dataclass(frozen=True, slots=True)
class Between:
    """Two limits as floats, minus or plus infinity where there is none."""

    lower: float
    upper: float


def known_after(process: Process, value: float, u: float) -> Process:
    """Return what is known of one item once it was measured: process and measurement weighed by their variances.

    JCGM 106:2012 section 6.3 and 7.2, from memory (high). `u` is the standard uncertainty of the value.

    >>> known_after(Process(0.0, 1.0), 1.0, 1.0).mean
    0.5
    """
    of_process, of_value = process.standard_deviation**2, u * u
    together = of_process + of_value
    mean = (of_value * process.mean + of_process * value) / together
    return Process(mean, process.standard_deviation * u / math.sqrt(together))


def global_risk(process: Process, u: float, tolerance: Between, accepted: Between) -> GlobalRisk:
    """Return the two global risks for a standard uncertainty u, tolerance limits and acceptance limits.

    Consumer: integral outside the tolerance of process x P(accepted). Producer: inside, of process x P(rejected)
    (JCGM 106:2012 section 9.5, from memory).
    """
    return GlobalRisk(consumer_risk(process, u, tolerance, accepted), _producer_risk(process, u, tolerance, accepted))


def consumer_risk(process: Process, u: float, tolerance: Between, accepted: Between) -> float:
    """Return the share of all items that are bad and accepted: the consumer's global risk (JCGM 106:2012 section 9.5)."""

    def taken(eta: float) -> float:
        low, high = (accepted.lower - eta) / u, (accepted.upper - eta) / u
        if low > 0:  # the mirror image, so that two small values are subtracted and not two near 1
            low, high = -high, -low
        return normal_distribution(high) - normal_distribution(low)

    panels = _panels(process, u, tolerance, accepted)
    least, most = accepted.lower - 2 * _FAR * u, accepted.upper + 2 * _FAR * u  # beyond them nothing is accepted
    outside = [
        (a, b)
        for a, b in panels
        if (b <= tolerance.lower or a >= tolerance.upper) and b > least and a < most
    ]  # fmt: skip
    return _integral(lambda eta: _density(process, eta) * taken(eta), outside)


def _producer_risk(process: Process, u: float, tolerance: Between, accepted: Between) -> float:
    def rejected(eta: float) -> float:
        return normal_distribution((accepted.lower - eta) / u) + normal_distribution((eta - accepted.upper) / u)

    panels = _panels(process, u, tolerance, accepted)
    inside = [(a, b) for a, b in panels if a >= tolerance.lower and b <= tolerance.upper]
    return _integral(lambda eta: _density(process, eta) * rejected(eta), inside)


def _density(process: Process, eta: float) -> float:
    z = (eta - process.mean) / process.standard_deviation
    return math.exp(-z * z / 2) / (process.standard_deviation * math.sqrt(2 * math.pi))


def _panels(process: Process, u: float, tolerance: Between, accepted: Between) -> list[tuple[float, float]]:
    """The pieces of the process's range: cut at every limit, and at every third standard deviation about mean and limits."""
    steps = range(-_FAR, _FAR + 1, _WIDE)
    ends = (accepted.lower, accepted.upper)
    cuts = {process.mean + j * process.standard_deviation for j in steps}
    cuts |= {end + j * u for end in ends if math.isfinite(end) for j in steps}
    cuts |= {limit for limit in (tolerance.lower, tolerance.upper) if math.isfinite(limit)}
    least, most = (process.mean + side * _FAR * process.standard_deviation for side in (-1, 1))
    return list(pairwise(sorted(cut for cut in cuts if least <= cut <= most)))


def _integral(of: Callable[[float], float], panels: Iterable[tuple[float, float]]) -> float:
    return math.fsum(
        (b - a) / 2 * weight * of((a + b) / 2 + (b - a) / 2 * x) for a, b in panels for x, weight in _gauss_legendre()
    )


@cache
def _gauss_legendre() -> tuple[tuple[float, float], ...]:
    """Nodes and weights on [-1, 1]: roots of the Legendre polynomial by Newton's method (A & S 25.4.29)."""
    found = []
    for i in range(1, _POINTS + 1):
        x = math.cos(math.pi * (i - 0.25) / (_POINTS + 0.5))
        for _ in range(8):
            value, slope = _legendre(x)
            x -= value / slope
        slope = _legendre(x)[1]
        found.append((x, 2 / ((1 - x * x) * slope * slope)))
    return tuple(found)


def _legendre(x: float) -> tuple[float, float]:
    """The polynomial of degree `_POINTS` and its derivative, by recurrence (A & S 22.7.10, 22.8.5)."""
    before, value = 1.0, x
    for n in range(2, _POINTS + 1):
        before, value = value, ((2 * n - 1) * x * value - (n - 1) * before) / n
    return value, _POINTS * (x * value - before) / (x * x - 1)
