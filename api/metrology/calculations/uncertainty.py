"""A budget of uncertainty: `uncertainty`. All sizes are bare numbers; sensitivities bring them into one unit."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Annotated, Final, Literal

from api.metrology.budget import Contribution
from api.metrology.coverage_factors import USUAL_PROBABILITY
from api.metrology.refusals import TooFewReadings
from api.metrology.repeatability import LEAST_READINGS
from api.metrology.rounding import printed_uncertainty
from api.metrology.terms import COVERAGE_FACTOR, Figure, Many, Name
from api.metrology.uncertainty import budget_of

Positive = Annotated[Decimal, Figure(above=Decimal(0))]
NotNegative = Annotated[Decimal, Figure(least=Decimal(0))]

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
    sensitivity: Annotated[Decimal, Figure()] = Decimal(1)


@dataclass(frozen=True, slots=True)
class Coverage:
    """How wide: a coverage probability, or a coverage factor."""

    probability: Annotated[Decimal, Figure(above=Decimal(0), most=Decimal("0.999999"))] | None = None
    k: Annotated[Decimal, COVERAGE_FACTOR] | None = None


@dataclass(frozen=True, slots=True)
class UncertaintyAsked:
    """The contributions of a budget, independent of each other, and the coverage: 0.9545 where it is left out."""

    contributions: Annotated[tuple[ContributionAsked, ...], Many(500, 1)]
    coverage: Coverage | None = None


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
class UncertaintyFound:
    """Combined u, effective degrees of freedom (left out where nothing limits them), k, U, and U as printed.

    k follows from the degrees truncated to an integer (GUM G.4.1); 2 exactly where nothing limits them at 0.9545.
    """

    combined: float
    effective_degrees_of_freedom: float | None
    k: float
    probability: float | None
    expanded: float
    printed: str
    contributions: tuple[ContributionFound, ...]


def uncertainty_of(asked: UncertaintyAsked) -> UncertaintyFound:
    """Return the budget: root sum of squares, Welch-Satterthwaite, k and U = k u (GUM 5.1.2, G.4, 6.2).

    Refuses fewer than three readings (`TooFewReadings`).
    """
    parts = [_contribution(one) for one in asked.contributions]
    coverage = asked.coverage or Coverage(Decimal(str(USUAL_PROBABILITY)))
    probability = None if coverage.probability is None else float(coverage.probability)
    found = budget_of(parts, USUAL_PROBABILITY if probability is None else probability)
    k = found.k if coverage.k is None else float(coverage.k)
    return UncertaintyFound(
        found.combined,
        finite(found.effective_degrees_of_freedom),
        k,
        probability,
        k * found.combined,
        f"{printed_uncertainty(k * found.combined):f}",
        tuple(_as_entered(part, found.combined) for part in parts),
    )


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
