"""A mass in another unit: `convert`. Exact where the decimals end, else a fraction with rounded text."""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Annotated

from api.metrology.exact_text import exact_text
from api.metrology.mass import factor_of
from api.metrology.terms import Figure, UnitCode


@dataclass(frozen=True, slots=True)
class ConvertAsked:
    """A value, the unit it is in, and the unit it is wanted in."""

    value: Annotated[Decimal, Figure()]
    unit: UnitCode
    to: UnitCode


@dataclass(frozen=True, slots=True)
class Converted:
    """The value in the unit wanted; where its decimals do not end, rounded to twelve digits with the fraction beside."""

    value: str
    unit: str
    exact: bool
    fraction: str | None = None


def convert(asked: ConvertAsked) -> Converted:
    """Return the value times kilograms per unit, over kilograms per wanted unit; nothing is rounded on the way."""
    number = Fraction(asked.value) * Fraction(factor_of(asked.unit)) / Fraction(factor_of(asked.to))
    found = exact_text(number)
    return Converted(found.text, asked.to, found.exact, found.fraction)
