"""Masses as a display shows them, and their exact value in kilograms.

A mass is built from decimal text, so 10.10 keeps its last zero. Conversions are exact (one context traps `Inexact`
and `Rounded`); nothing here rounds. Rounding for print is `rounding`'s.
"""

import re
from dataclasses import dataclass, field
from decimal import Clamped, Context, Decimal, DivisionByZero, Inexact, InvalidOperation, Overflow, Rounded
from itertools import pairwise
from typing import Final

from api.metrology.refusals import NotAMass, UnknownUnit

# The one context for exact work. 120 digits hold any product of a display's text, or of two numbers of a calculator (40
# digits each), with any factor below.
EXACT = Context(prec=120, traps=[Inexact, Rounded, InvalidOperation, DivisionByZero, Overflow, Clamped])

# Factor to kilograms by UCUM code. The pound is 0.453 592 37 kg exactly, the ounce 1/16 of it, the stone 14 of it
# (NIST HB 44 Appendix C; international yard and pound agreement of 1959).
KILOGRAMS_PER: dict[str, Decimal] = {
    "kg": Decimal("1"),
    "g": Decimal("0.001"),
    "mg": Decimal("0.000001"),
    "[lb_av]": Decimal("0.45359237"),
    "[oz_av]": Decimal("0.028349523125"),
    "[stone_av]": Decimal("6.35029318"),
}
METRIC: Final = ("kg", "g", "mg")

# What people write instead, and the code they mean (UCUM, case sensitive).
UNIT_HINTS: dict[str, str] = {
    "lb": "[lb_av]", "lbs": "[lb_av]", "lb_av": "[lb_av]", "pound": "[lb_av]", "LB": "[lb_av]", "#": "[lb_av]",
    "oz": "[oz_av]", "ounce": "[oz_av]", "OZ": "[oz_av]", "st": "[stone_av]", "stone": "[stone_av]",
    "KG": "kg", "Kg": "kg", "kgs": "kg", "kilogram": "kg", "G": "g", "gr": "g", "gram": "g", "grams": "g", "MG": "mg",
}  # fmt: skip

UNIT_LABELS: dict[str, str] = {"[lb_av]": "lb", "[oz_av]": "oz", "[stone_av]": "st"}

DECIMAL_TEXT = re.compile(r"-?[0-9]{1,9}(\.[0-9]{1,9})?\Z", re.ASCII)


def decimal_from(text: str) -> Decimal:
    """Return the number that plain decimal text stands for, every written digit kept.

    Refuses exponents, signs other than a leading minus, spaces, separators and digits outside ASCII (`NotAMass`).

    >>> decimal_from("10.10")
    Decimal('10.10')
    """
    if not DECIMAL_TEXT.match(text):
        raise NotAMass(
            f"{text[:64]!r} is not a plain decimal number; write digits with an optional minus sign and decimal point, "
            "for example 10.10.",
            found=text[:64],
        )
    return Decimal(text)


@dataclass(frozen=True, slots=True)
class Mass:
    """A mass as it was shown or stated: a decimal value, its UCUM unit, and the parts of a compound display.

    `kg` is its exact value in kilograms, worked out once.
    """

    value: Decimal
    unit: str
    parts: tuple[tuple[Decimal, str], ...] = ()
    kg: Decimal = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "kg", in_kilograms(self.value, self.unit))

    @property
    def shown(self) -> str:
        """The mass as the display showed it, for example `10.10 kg` or `7 lb 4.5 oz`."""
        pieces = self.parts or ((self.value, self.unit),)
        return " ".join(f"{value:f} {label_of(unit)}" for value, unit in pieces)


def in_kilograms(value: Decimal, unit: str) -> Decimal:
    """Return the exact value in kilograms of a value in a unit with a UCUM code."""
    return value if unit == "kg" else EXACT.multiply(value, factor_of(unit))


def factor_of(unit: str) -> Decimal:
    """Return kilograms per unit; refuses a code that is not on the list, with a hint where one is known."""
    try:
        return KILOGRAMS_PER[unit]
    except KeyError:
        raise UnknownUnit(unknown_unit_sentence(unit), found=unit[:64]) from None


def unknown_unit_sentence(unit: str) -> str:
    """Return the sentence that refuses a unit and says what would be accepted."""
    hint = UNIT_HINTS.get(unit)
    meant = f" Did you mean {hint}?" if hint else ""
    return f"{unit[:64]!r} is not a unit code used here.{meant} Accepted: {', '.join(KILOGRAMS_PER)} (UCUM, case sensitive)."


def label_of(unit: str) -> str:
    """Return the unit as people read it: `lb` for the code `[lb_av]`."""
    return UNIT_LABELS.get(unit, unit)


def mass(text: str, unit: str) -> Mass:
    """Return the mass that a decimal text and a UCUM unit code stand for.

    >>> mass("10.10", "kg").shown
    '10.10 kg'
    >>> mass("250", "[lb_av]").kg
    Decimal('113.39809250')
    """
    factor_of(unit)
    return Mass(decimal_from(text), unit)


def compound(parts: tuple[tuple[Decimal, str], ...]) -> Mass:
    """Return the mass of a compound display, in the unit of its last and smallest part.

    Refuses parts that do not go from larger to smaller units, that carry different signs, or whose units are not
    whole multiples of each other's, as kilogram and pound (`NotAMass`).

    >>> compound(((Decimal("7"), "[lb_av]"), (Decimal("4.5"), "[oz_av]"))).value
    Decimal('116.5')
    """
    factors = [factor_of(unit) for _, unit in parts]
    if len(parts) < 2 or factors != sorted(factors, reverse=True) or len(set(factors)) != len(factors):
        raise NotAMass("A compound display has two or more parts, from the larger unit to the smaller.")
    if len({value.is_signed() for value, _ in parts if value or value.is_signed()}) > 1:
        raise NotAMass("The parts of a compound display carry different signs; write a minus sign on each of them.")
    if any(EXACT.remainder(larger, smaller) for larger, smaller in pairwise(factors)):
        raise NotAMass("A compound display counts one system: lb and oz, st and lb, kg and g; not kg and lb.")
    return Mass(_in_the_last_unit(parts, factors), parts[-1][1], parts)


def _in_the_last_unit(parts: tuple[tuple[Decimal, str], ...], factors: list[Decimal]) -> Decimal:
    total = Decimal(0)
    for (value, _), factor in zip(parts, factors, strict=True):
        total = EXACT.add(total, EXACT.multiply(value, EXACT.divide(factor, factors[-1])))
    return total


def kilograms(value: Decimal) -> Mass:
    """Return a mass in kilograms."""
    return Mass(value, "kg")
