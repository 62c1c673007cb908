"""Whether what a certificate says of a weight puts it in its class: OIML R 111-1:2004 5.2 and 5.3.

The class check is guarded by U, a decision rule written into the standard itself. The limits are `weight_classes`'s.
"""

from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from api.metrology.mass import EXACT, Mass
from api.metrology.refusals import NoTableValue
from api.metrology.weight_class_tables import R111_TABLE_1, TABLES
from api.metrology.weight_classes import class_limit

_SOURCE: Final = "OIML R 111-1:2004 5.2, 5.3, from memory"
_TAKEN_OVER: Final = f"{_SOURCE}; taken over for other classes, common practice, no source"
# What a U of another coverage factor is brought to k = 2 in: picograms, upward (a house choice).
_STEP: Final = Decimal("1e-12")


@dataclass(frozen=True, slots=True)
class CertifiedClass:
    """The two conditions of a class for a certified value, in kilograms: what was found and its limit for each.

    `deviation_kg` is |m_c - m_0|, `expanded_kg` the U at k = 2, `limit_kg` the limit of the class; `in_class` where both
    conditions hold.
    """

    uncertainty_fits: bool
    value_fits: bool
    largest_uncertainty_kg: Decimal
    largest_deviation_kg: Decimal
    source: str
    deviation_kg: Decimal
    expanded_kg: Decimal
    limit_kg: Decimal

    @property
    def in_class(self) -> bool:
        """Whether the certificate shows the weight to be of its class."""
        return self.uncertainty_fits and self.value_fits


def certified_class(
    weight_class: str, nominal: Mass, conventional_kg: Decimal, expanded_kg: Decimal, k: Decimal = Decimal(2)
) -> CertifiedClass:
    """Return whether U (k = 2) is at most a third of the limit, and |m_c - m_0| at most the limit less U; both exact.

    R 111-1:2004 5.2 and 5.3, from memory (high). Equality fits. The largest uncertainty is given as a third of the limit
    to ten decimals of a kilogram, downward; the comparison is by multiplication. A U of another coverage factor is taken
    at k = 2. Refuses a class or nominal value without a row (`NoTableValue`).
    """
    limit = class_limit(weight_class, nominal).kg
    expanded = _at_two(expanded_kg, k)
    deviation = EXACT.subtract(conventional_kg, nominal.kg).copy_abs()
    largest = EXACT.subtract(limit, expanded)
    third = EXACT.divide_int(limit, Decimal("3e-10")).scaleb(-10)
    fits = EXACT.multiply(expanded, Decimal(3)) <= limit
    source = _SOURCE if weight_class in R111_TABLE_1.classes else _TAKEN_OVER
    return CertifiedClass(fits, deviation <= largest, third, largest, source, deviation, expanded, limit)


def class_shown(
    weight_class: str, nominal: Mass, conventional_kg: Decimal, expanded_kg: Decimal, k: Decimal = Decimal(2)
) -> str | None:
    """Return the finest class of the same document that the certificate shows the weight to be of; None where none is.

    >>> from api.metrology.mass import mass
    >>> class_shown("M1", mass("20", "kg"), Decimal("20.0015"), Decimal("0.0003"))
    'M2'
    """
    document = next(table.source.split(",")[0] for table in TABLES if weight_class in table.classes)
    classes = dict.fromkeys(
        name for table in TABLES if table.source.startswith(document) for name in sorted(table.classes)
    )
    shown = []
    for name in classes:
        try:
            found = certified_class(name, nominal, conventional_kg, expanded_kg, k)
        except NoTableValue:
            continue
        if found.in_class:
            shown.append((found.limit_kg, name))
    return min(shown)[1] if shown else None


def _at_two(expanded_kg: Decimal, k: Decimal) -> Decimal:
    """U at k = 2, exact where that ends within a picogram, else the next picogram up."""
    if k == 2:
        return expanded_kg
    doubled, step = EXACT.multiply(expanded_kg, Decimal(2)), EXACT.multiply(k, _STEP)
    steps, rest = EXACT.divide_int(doubled, step), EXACT.remainder(doubled, step)
    return EXACT.multiply(steps + bool(rest), _STEP)
