"""A budget of uncertainty: `uncertainty`. All sizes are bare numbers; sensitivities bring them into one unit."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Annotated, Final, Literal

from api.metrology.budget import Contribution
from api.metrology.correlated import Correlation, brought_together, correlation_of
from api.metrology.coverage_factors import USUAL_PROBABILITY
from api.metrology.refusals import TooFewReadings
from api.metrology.repeatability import LEAST_READINGS
from api.metrology.rounding import printed_uncertainty
from api.metrology.second_order import Bend, second_order_variance
from api.metrology.terms import COVERAGE_FACTOR, Figure, Many, Name
from api.metrology.uncertainty import coverage_of

Positive = Annotated[Decimal, Figure(above=Decimal(0))]
NotNegative = Annotated[Decimal, Figure(least=Decimal(0))]
AnyFigure = Annotated[Decimal, Figure()]

# A half-width over these is a standard uncertainty: GUM (JCGM 100:2008) 4.3.7, 4.3.9; arcsine JCGM 101:2008 6.4.6.
DIVISORS: Final = {"rectangular": math.sqrt(3), "triangular": math.sqrt(6), "arcsine": math.sqrt(2)}


@dataclass(frozen=True, slots=True)
class ContributionAsked:
    """One contribution: a standard uncertainty; or a half-width with its distribution (`normal` with k); or readings.

    Readings give s of a single reading with n - 1 degrees of freedom, as a calibration point rests on one reading
    (EURAMET cg-18 v4.0 7.1.1.3); with `mean` they give s / sqrt(n), that of their mean (GUM 4.2.3). Without degrees of
    freedom nothing limits a contribution. The sensitivity is 1 where it is left out.
    """

    name: Name
    standard_uncertainty: NotNegative | None = None
    half_width: NotNegative | None = None
    distribution: Literal["rectangular", "triangular", "arcsine", "normal"] | None = None
    k: Annotated[Decimal, COVERAGE_FACTOR] | None = None
    readings: Annotated[tuple[Annotated[Decimal, Figure()], ...], Many(1000)] | None = None
    mean: bool = False
    degrees_of_freedom: Positive | None = None
    sensitivity: AnyFigure = Decimal(1)


@dataclass(frozen=True, slots=True)
class Coverage:
    """How wide: a coverage probability, or a coverage factor."""

    probability: Annotated[Decimal, Figure(above=Decimal(0), most=Decimal("0.999999"))] | None = None
    k: Annotated[Decimal, COVERAGE_FACTOR] | None = None


@dataclass(frozen=True, slots=True)
class CorrelationAsked:
    """How two contributions, by their names, hang together: r, or their readings, which were then taken in pairs."""

    first: Name
    second: Name
    r: Annotated[Decimal, Figure(least=Decimal(-1), most=Decimal(1))] | None = None


@dataclass(frozen=True, slots=True)
class SecondOrderAsked:
    """How the model f bends along two inputs, by their names, or along one named twice (GUM, JCGM 100:2008, 5.1.2 note).

    `derivative` is d2f/d first d second, `third_derivative` d3f/d first d second2, `third_derivative_back`
    d3f/d second d first2; each 0 where it is left out.
    """

    first: Name
    second: Name
    derivative: AnyFigure = Decimal(0)
    third_derivative: AnyFigure = Decimal(0)
    third_derivative_back: AnyFigure = Decimal(0)


@dataclass(frozen=True, slots=True)
class UncertaintyAsked:
    """The contributions of a budget and the coverage: 0.9545 where it is left out.

    Contributions are independent of each other but for the correlations named; each pair is named once. Terms of the
    second order are those of independent contributions.
    """

    contributions: Annotated[tuple[ContributionAsked, ...], Many(500, 1)]
    coverage: Coverage | None = None
    correlations: Annotated[tuple[CorrelationAsked, ...], Many(100)] = ()
    second_order: Annotated[tuple[SecondOrderAsked, ...], Many(500)] = ()


@dataclass(frozen=True, slots=True)
class ContributionFound:
    """One contribution as it entered: u, sensitivity, what it brings to the result, its share of the variance."""

    name: str
    standard_uncertainty: float
    sensitivity: float
    contribution: float
    share_of_variance: float
    degrees_of_freedom: float | None


@dataclass(frozen=True, slots=True)
class CorrelationFound:
    """A correlation coefficient as it entered, given or worked out from readings in pairs."""

    first: str
    second: str
    r: float


@dataclass(frozen=True, slots=True)
class UncertaintyFound:
    """Combined u, effective degrees of freedom (left out where nothing limits them), k, U, and U as printed.

    k follows from the degrees truncated to an integer (GUM G.4.1); 2 exactly where nothing limits them at 0.9545. The
    shares of the variance make 1 together where there are no correlations and no second order. Correlated contributions
    have the fewest degrees of freedom among them. `second_order_variance` is what those terms added.
    """

    combined: float
    effective_degrees_of_freedom: float | None
    k: float
    probability: float | None
    expanded: float
    printed: str
    contributions: tuple[ContributionFound, ...]
    correlations: tuple[CorrelationFound, ...] = ()
    second_order_variance: float | None = None


def uncertainty_of(asked: UncertaintyAsked) -> UncertaintyFound:
    """Return the budget: sum of variances and covariances, Welch-Satterthwaite, k and U = k u (GUM 5.1.2, 5.2.2, G.4, 6.2).

    Refuses fewer than three readings (`TooFewReadings`), correlations that cannot be (`ImpossibleCorrelations`), and terms
    of the second order that leave less than nothing (`NegativeVariance`).
    """
    parts = [_contribution(one) for one in asked.contributions]
    coverage = asked.coverage or Coverage(Decimal(str(USUAL_PROBABILITY)))
    probability = None if coverage.probability is None else float(coverage.probability)
    correlations, beyond = _correlations(asked), _second_order(asked, parts)
    shares, degrees = brought_together(
        [part.sensitivity * part.standard_uncertainty for part in parts],
        [part.degrees_of_freedom for part in parts],
        correlations,
    )
    combined, effective, k = coverage_of(
        shares, degrees, USUAL_PROBABILITY if probability is None else probability, beyond
    )
    k = k if coverage.k is None else float(coverage.k)
    return UncertaintyFound(
        combined,
        finite(effective),
        k,
        probability,
        k * combined,
        f"{printed_uncertainty(k * combined):f}",
        tuple(_as_entered(part, combined) for part in parts),
        tuple(CorrelationFound(parts[c.first].name, parts[c.second].name, c.r) for c in correlations),
        beyond if asked.second_order else None,
    )


def _correlations(asked: UncertaintyAsked) -> list[Correlation]:
    place = {one.name: number for number, one in enumerate(asked.contributions)}
    named = [(place[c.first], place[c.second], c.r) for c in asked.correlations]
    return [Correlation(a, b, _in_pairs(asked, a, b) if r is None else float(r)) for a, b, r in named]


def _in_pairs(asked: UncertaintyAsked, first: int, second: int) -> float:
    one, other = asked.contributions[first].readings, asked.contributions[second].readings
    assert one is not None  # the wire asks for r, or for as many readings of both
    assert other is not None
    return correlation_of(one, other)


def _second_order(asked: UncertaintyAsked, parts: Sequence[Contribution]) -> float:
    place = {one.name: number for number, one in enumerate(asked.contributions)}
    bends = [
        Bend(
            place[term.first], place[term.second], float(term.derivative), float(term.third_derivative),
            float(term.third_derivative_back),
        )
        for term in asked.second_order
    ]  # fmt: skip
    return second_order_variance([p.standard_uncertainty for p in parts], [p.sensitivity for p in parts], bends)


def finite(degrees: float) -> float | None:
    """Return degrees of freedom, or None where nothing limits them."""
    return None if math.isinf(degrees) else degrees


def _contribution(asked: ContributionAsked) -> Contribution:
    sensitivity = float(asked.sensitivity)
    if asked.readings is not None:
        u = _spread(asked.readings) / (math.sqrt(len(asked.readings)) if asked.mean else 1)
        return Contribution(asked.name, u, "t", "readings", len(asked.readings) - 1, sensitivity)
    degrees = math.inf if asked.degrees_of_freedom is None else float(asked.degrees_of_freedom)
    return Contribution(asked.name, _stated(asked), asked.distribution or "normal", "stated", degrees, sensitivity)


def _stated(asked: ContributionAsked) -> float:
    if asked.standard_uncertainty is not None:
        return float(asked.standard_uncertainty)
    assert asked.half_width is not None  # the wire asks for one of the three, and for its distribution
    assert asked.distribution is not None
    if asked.distribution == "normal":
        assert asked.k is not None
        return float(asked.half_width) / float(asked.k)
    return float(asked.half_width) / DIVISORS[asked.distribution]


def _spread(readings: Sequence[Decimal]) -> float:
    """s of single readings, from an exact numerator: nothing is lost where they differ in their last digit only."""
    if (n := len(readings)) < LEAST_READINGS:
        raise TooFewReadings(f"{n} readings; a standard deviation needs {LEAST_READINGS} at least.", found=str(n))
    exact = [Fraction(reading) for reading in readings]
    return math.sqrt((n * sum(x * x for x in exact) - sum(exact) ** 2) / (n * (n - 1)))


def _as_entered(part: Contribution, combined: float) -> ContributionFound:
    share = (part.share / combined) ** 2 if combined else 0.0
    return ContributionFound(
        part.name, part.standard_uncertainty, part.sensitivity, part.share, share, finite(part.degrees_of_freedom)
    )
