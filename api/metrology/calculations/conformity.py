"""Whether a value conforms, and with which probability: `conformity`. Exact value, exact limits, the printed U."""

import math
from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated, Literal

from api.metrology.coverage_factors import coverage_factor
from api.metrology.decision import (
    Limits,
    acceptance_limits,
    guard_ratio_for,
    probability_of_conformity,
    probability_of_nonconformity,
    verdict_within,
)
from api.metrology.exact_text import plain
from api.metrology.mass import EXACT
from api.metrology.risk import SpecificRisk, specific_risk
from api.metrology.rounding import printed_probability, printed_uncertainty
from api.metrology.terms import COVERAGE_FACTOR, Figure
from api.metrology.verdict import Verdict

AnyNumber = Annotated[Decimal, Figure()]
NotNegative = Annotated[Decimal, Figure(least=Decimal(0))]
Positive = Annotated[Decimal, Figure(above=Decimal(0))]


@dataclass(frozen=True, slots=True)
class GuardBand:
    """How wide: r times the printed U, or as wide as a wanted risk of accepting at a limit what lies beyond it asks.

    `zones` says whether the verdict has two words or the four of ILAC-G8:09/2019 4.2.3; two where it is left out.
    """

    r: Annotated[Decimal, Figure(least=Decimal(-1), most=Decimal(10))] | None = None
    risk: Annotated[Decimal, Figure(above=Decimal(0), most=Decimal("0.5"))] | None = None
    zones: Literal["two", "four"] = "two"


@dataclass(frozen=True, slots=True)
class ConformityAsked:
    """A value, its uncertainty, and tolerance limits, one of which may be missing; all in one unit.

    Either a standard uncertainty, whose U is printed with k as given or as the degrees of freedom ask (95.45 %); or an
    expanded uncertainty with its k, taken as printed. Without a guard band: simple acceptance.
    """

    value: AnyNumber
    standard_uncertainty: NotNegative | None = None
    expanded: NotNegative | None = None
    k: Annotated[Decimal, COVERAGE_FACTOR] | None = None
    lower: AnyNumber | None = None
    upper: AnyNumber | None = None
    guard_band: GuardBand | None = None
    degrees_of_freedom: Positive | None = None


@dataclass(frozen=True, slots=True)
class LimitsFound:
    """Limits as exact decimal text; one of them may be missing."""

    lower: str | None
    upper: str | None


@dataclass(frozen=True, slots=True)
class DecidedOn:
    """What the decision rests on, exact: the value, U as printed, k, the guard band's ratio and width, and the rule."""

    value: str
    printed_uncertainty: str
    k: float
    guard_ratio: str
    guard_band: str
    zones: str
    rule: str


@dataclass(frozen=True, slots=True)
class Conformity:
    """The verdict, the probability that the true value lies within the limits, and beyond them, and what was decided on.

    The specific risk is that of this one decision: wrongly accepted (on the consumer) or wrongly rejected (on the producer).
    Without an uncertainty there is a verdict and no probability.
    """

    verdict: Verdict
    probability: float | None
    probability_of_nonconformity: float | None
    specific_risk: SpecificRisk | None
    printed_probability: str | None
    acceptance_limits: LimitsFound
    decided_on: DecidedOn


def conformity_of(asked: ConformityAsked) -> Conformity:
    """Return the verdict on the exact value within limits moved in by the guard band; a value on a limit is within.

    Refuses a guard band that leaves nothing between the limits (`EmptyAcceptanceZone`).
    """
    k, u, printed = _uncertainty(asked)
    band = asked.guard_band or GuardBand(Decimal(0))
    ratio = guard_ratio_for(float(band.risk), k) if band.risk is not None else band.r or Decimal(0)
    width = EXACT.multiply(ratio, printed)
    limits = Limits(asked.lower, asked.upper)
    accepted = acceptance_limits(limits, width)
    within, beyond = _probabilities(asked, u)
    verdict = verdict_within(asked.value, limits, width, band.zones)
    return Conformity(
        verdict,
        within,
        beyond,
        None if within is None or beyond is None else specific_risk(verdict, within, beyond),
        None if within is None else printed_probability(within),
        LimitsFound(*(None if end is None else plain(end) for end in (accepted.lower, accepted.upper))),
        DecidedOn(f"{asked.value:f}", f"{printed:f}", k, plain(ratio), plain(width), band.zones, _rule(band)),
    )


def _uncertainty(asked: ConformityAsked) -> tuple[float, float, Decimal]:
    """k, the standard uncertainty, and U as printed."""
    if asked.expanded is not None:
        assert asked.k is not None  # the wire asks for it
        return float(asked.k), float(asked.expanded) / float(asked.k), asked.expanded
    assert asked.standard_uncertainty is not None  # the wire asks for one of the two
    k = coverage_factor(_degrees(asked)) if asked.k is None else float(asked.k)
    u = float(asked.standard_uncertainty)
    return k, u, printed_uncertainty(k * u)


def _degrees(asked: ConformityAsked) -> float:
    return math.inf if asked.degrees_of_freedom is None else float(asked.degrees_of_freedom)


def _probabilities(asked: ConformityAsked, u: float) -> tuple[float | None, float | None]:
    if u == 0:
        return None, None
    lower, upper = (
        side if end is None else float(EXACT.subtract(end, asked.value))
        for side, end in ((-math.inf, asked.lower), (math.inf, asked.upper))
    )
    degrees = _degrees(asked)
    return (
        probability_of_conformity(0.0, u, lower, upper, degrees),
        probability_of_nonconformity(0.0, u, lower, upper, degrees),
    )


def _rule(band: GuardBand) -> str:
    if band.risk is not None:
        return (
            f"w = z(1 - {plain(band.risk)}) u, as a ratio of the printed U (JCGM 106:2012 section 8.3.2, from memory)"
        )
    if not band.r:
        return "ILAC-G8:09/2019 section 4.2.1: simple acceptance, no guard band"
    clause = "4.2.3" if band.zones == "four" else "4.2.2"
    return f"ILAC-G8:09/2019 section {clause}: w = {plain(band.r)} U, the printed U"
