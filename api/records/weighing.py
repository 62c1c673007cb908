"""What a weighing on a scale is worth, as it is answered: numbers as printed, in kilograms unless named otherwise."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Literal

from api.metrology.claims import Claim, Where
from api.metrology.error_line import Form
from api.metrology.terms import Code
from api.metrology.tolerance import Stage
from api.records.calibration import Standing

RestsOn = Literal["as left", "as found, left so"]


@dataclass(frozen=True, slots=True)
class ContributionInUse:
    """One part of the uncertainty of a weighing: its standard uncertainty, three digits, and where it comes from."""

    name: str
    u_kg: Decimal
    source: str


@dataclass(frozen=True, slots=True)
class WeighingWorth:
    """One reading: the error expected there, U once the error is taken off, U with it left in, and what can be claimed.

    U covers about 95 %. Above the proven range there are no numbers. `contributions` only where one reading was asked.
    """

    reading_kg: Decimal
    where: Where
    claim: Claim
    why: str
    error_kg: Decimal | None = None
    expanded_kg: Decimal | None = None
    k: Decimal | None = None
    uncorrected_kg: Decimal | None = None
    percent: Decimal | None = None
    tolerance_kg: Decimal | None = None
    contributions: tuple[ContributionInUse, ...] = ()


@dataclass(frozen=True, slots=True)
class FittedLine:
    """The error over all loads: its form, slope in parts per million with its standard uncertainty, and the fit's test.

    `chi_square` against `chi_square_limit` is that of the line through zero, whatever form was taken.
    """

    form: Form
    slope_ppm: Decimal
    u_slope_ppm: Decimal
    zero_kg: Decimal
    chi_square: Decimal
    chi_square_limit: Decimal
    loads: int


@dataclass(frozen=True, slots=True)
class ClaimedStretch:
    """Loads of which the same can be claimed of one weighing, in kilograms."""

    from_kg: Decimal
    to_kg: Decimal
    where: Where
    claim: Claim


@dataclass(frozen=True, slots=True)
class VisitLeaned:
    """The visit that an answer rests on: which, when, where it stands, and which of its readings count."""

    calibration: str
    site: str
    performed_on: date
    standing: Standing
    behaviour: RestsOn
    certificate: str | None = None


@dataclass(frozen=True, slots=True)
class WeighingAnswer:
    """What a weighing on a device is worth at readings, from the newest visit that shows how it was left.

    `alpha_kg` + `beta_ppm` x reading / 1 000 000 bounds U with the error left in, up to the highest load proven.
    `below_percent` is the tolerance in percent at the lowest load proven. `slope_reaches_kg` is the load up to which the
    uncertainty of the slope alone stays within the tolerance; no claim reaches beyond the proven range.
    """

    device: Code
    on: date
    visit: VisitLeaned
    proven: str
    tolerance: str
    tolerance_stage: Stage
    line: FittedLine
    alpha_kg: Decimal
    beta_ppm: Decimal
    readings: tuple[WeighingWorth, ...]
    typical_kg: tuple[Decimal, ...]
    claims: tuple[ClaimedStretch, ...]
    assumptions: tuple[str, ...]
    proven_from_kg: Decimal | None = None
    proven_to_kg: Decimal | None = None
    below_percent: Decimal | None = None
    slope_reaches_kg: Decimal | None = None
