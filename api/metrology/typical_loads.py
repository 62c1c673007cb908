"""Loads that the kinds of scale usually weigh, in kilograms: where an answer about a weighing is worth giving.

Common practice, no source; a ward's own loads are better where they are known.
"""

from decimal import Decimal
from typing import Final

from api.metrology.terms import Kind

_ADULTS: Final = (Decimal(60), Decimal(100))
_OF_A_KIND: Final[dict[Kind, tuple[Decimal, ...]]] = {
    "dialysis platform": (Decimal(60), Decimal(80), Decimal(100)),
    "infant": (Decimal(1), Decimal(3), Decimal(5)),
    "incubator": (Decimal(1), Decimal(3)),
    "pharmacy balance": (Decimal("0.01"), Decimal("0.1"), Decimal(1)),
    "analytical balance": (Decimal("0.001"), Decimal("0.01"), Decimal("0.1")),
}


def typical_loads(kind: Kind) -> tuple[Decimal, ...]:
    """Return the loads that a kind of scale usually weighs, the lightest first; adults where nothing else is said.

    >>> [str(load) for load in typical_loads("infant")]
    ['1', '3', '5']
    """
    return _OF_A_KIND.get(kind, _ADULTS)
