"""Computed numbers as decimal text: exact where the decimals end, else rounded, and then as a fraction beside.

A display's zeros are what was shown; a computed number has none to keep, so it is written as short as it goes.
"""

from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Context, Decimal
from fractions import Fraction
from typing import Final

ROUNDED_DIGITS: Final = 12  # significant digits of a number whose decimals do not end: a house choice
_LONG: Final = Context(prec=200)


@dataclass(frozen=True, slots=True)
class ExactText:
    """A number as decimal text, and the fraction it stands for where its decimals do not end."""

    text: str
    fraction: str | None = None

    @property
    def exact(self) -> bool:
        """Whether the text is the number itself."""
        return self.fraction is None


def plain(value: Decimal) -> str:
    """Return an exact decimal without zeros at its end and without an exponent.

    >>> plain(Decimal("0.10")), plain(Decimal("1E+2")), plain(Decimal("-0.0"))
    ('0.1', '100', '0')
    """
    return f"{value.normalize(_LONG):f}" if value else "0"


def in_unit(kg: Decimal, unit: str) -> str:
    """Return the number of a mass given in kilograms, in grams or kilograms, exact and without trailing zeros.

    >>> in_unit(Decimal("0.0041"), "g")
    '4.1'
    """
    return plain(kg.scaleb(3) if unit == "g" else kg)


def exact_text(number: Fraction) -> ExactText:
    """Return a fraction as decimal text: itself where its decimals end, else rounded half-even to twelve digits.

    >>> exact_text(Fraction(1, 8)).text
    '0.125'
    >>> exact_text(Fraction(100_000_000, 45_359_237))
    ExactText(text='2.20462262185', fraction='100000000/45359237')
    """
    if _decimals_end(number.denominator):
        return ExactText(plain(_quotient(number, _LONG)))
    rounded = _quotient(number, Context(prec=ROUNDED_DIGITS, rounding=ROUND_HALF_EVEN))
    return ExactText(plain(rounded), f"{number.numerator}/{number.denominator}")


def _quotient(number: Fraction, context: Context) -> Decimal:
    return context.divide(Decimal(number.numerator), Decimal(number.denominator))


def _decimals_end(denominator: int) -> bool:
    """Decimals end where the denominator has no prime factor but 2 and 5."""
    for prime in (2, 5):
        while denominator % prime == 0:
            denominator //= prime
    return denominator == 1
