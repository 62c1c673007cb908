"""Masses of one question brought into one unit, exact: each in a unit of its own, or all bare numbers in the asker's."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal, Inexact

from api.metrology.exact_text import plain
from api.metrology.mass import EXACT, Mass, factor_of
from api.metrology.refusals import MixedUnits


@dataclass(frozen=True, slots=True)
class ComputedMass:
    """A mass that was worked out: exact decimal text without zeros at its end, and its unit as a UCUM code."""

    value: str
    unit: str


def in_one_unit(amounts: Sequence[Mass | Decimal]) -> tuple[list[Decimal], str | None]:
    """Return amounts in the unit of the first, or in kilograms where they do not come out exactly there.

    No unit is given for bare numbers. Refuses bare numbers beside masses (`MixedUnits`).
    """
    masses = [amount for amount in amounts if isinstance(amount, Mass)]
    if not masses:
        return [amount for amount in amounts if isinstance(amount, Decimal)], None
    if len(masses) < len(amounts):
        raise MixedUnits("Some of these are masses with a unit and some bare numbers; give all of them with a unit.")
    unit = masses[0].unit
    try:
        return [in_unit(one, unit) for one in masses], unit
    except Inexact:
        return [one.kg for one in masses], "kg"


def in_unit(amount: Mass, unit: str) -> Decimal:
    """Return the value of a mass in a unit, exact; raises `Inexact` where its decimals do not end there."""
    return amount.value if amount.unit == unit else EXACT.divide(amount.kg, factor_of(unit))


def computed(value: Decimal, unit: str | None) -> ComputedMass | str:
    """Return an exact result as a mass, or as bare decimal text where the question had no units."""
    return plain(value) if unit is None else ComputedMass(plain(value), unit)
