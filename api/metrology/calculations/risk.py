"""How often a process and its measurement together decide wrongly: `risk`."""

import math
from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated

from api.metrology.calculations.conformity import GuardBand, LimitsFound
from api.metrology.decision import Limits, acceptance_limits, guard_ratio_for
from api.metrology.exact_text import plain
from api.metrology.mass import EXACT
from api.metrology.risk import Between, Process, global_risk
from api.metrology.terms import Figure

AnyNumber = Annotated[Decimal, Figure()]
Positive = Annotated[Decimal, Figure(above=Decimal(0))]

_K = Decimal(2)  # a guard band in r is r times U = 2 u here, about 95 % (ILAC-G8:09/2019 Table 1)


@dataclass(frozen=True, slots=True)
class RiskAsked:
    """A normal process, the standard uncertainty of its measurement, limits of which one may be missing, a guard band.

    The guard band is a bare width; or r times U = 2 u; or that of a wanted risk, z u. None where it is left out.
    """

    mean: AnyNumber
    standard_deviation: Positive
    standard_uncertainty: Positive
    lower: AnyNumber | None = None
    upper: AnyNumber | None = None
    guard_band: Annotated[GuardBand | Decimal, Figure()] | None = None


@dataclass(frozen=True, slots=True)
class RiskFound:
    """Shares of all items: bad ones that are accepted (consumer), good ones that are rejected (producer)."""

    consumer: float
    producer: float
    acceptance_limits: LimitsFound
    guard_band: str
    source: str


def risk_of(asked: RiskAsked) -> RiskFound:
    """Return the global risks of the decision (JCGM 106:2012 section 9.5), good to 1e-10.

    Refuses a guard band that leaves nothing between the limits (`EmptyAcceptanceZone`).
    """
    width = _width(asked)
    limits = Limits(asked.lower, asked.upper)
    accepted = acceptance_limits(limits, width)
    process = Process(0.0, float(asked.standard_deviation))
    found = global_risk(
        process, float(asked.standard_uncertainty), _from_mean(limits, asked.mean), _from_mean(accepted, asked.mean)
    )
    ends = LimitsFound(*(None if end is None else plain(end) for end in (accepted.lower, accepted.upper)))
    return RiskFound(found.consumer, found.producer, ends, plain(width), "JCGM 106:2012 section 9.5")


def _width(asked: RiskAsked) -> Decimal:
    if asked.guard_band is None or isinstance(asked.guard_band, Decimal):
        return asked.guard_band or Decimal(0)
    expanded = EXACT.multiply(_K, asked.standard_uncertainty)
    if asked.guard_band.risk is not None:
        return EXACT.multiply(guard_ratio_for(float(asked.guard_band.risk), float(_K)), expanded)
    return EXACT.multiply(asked.guard_band.r or Decimal(0), expanded)


def _from_mean(limits: Limits, mean: Decimal) -> Between:
    """Limits as distances from the mean, subtracted exactly before they become floats."""
    lower, upper = limits.lower, limits.upper
    return Between(
        -math.inf if lower is None else float(EXACT.subtract(lower, mean)),
        math.inf if upper is None else float(EXACT.subtract(upper, mean)),
    )
