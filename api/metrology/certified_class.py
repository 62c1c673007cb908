"""Whether what a certificate says of a weight puts it in its class: OIML R 111-1:2004 5.2 and 5.3.

The class check is guarded by U, a decision rule written into the standard itself. The limits are `weight_classes`'s.
"""

from dataclasses import dataclass
from decimal import Decimal

from api.metrology.mass import EXACT, Mass
from api.metrology.weight_classes import class_limit


@dataclass(frozen=True, slots=True)
class CertifiedClass:
    """The two conditions of a class for a certified value, with their limits in kilograms; `in_class` where both hold."""

    uncertainty_fits: bool
    value_fits: bool
    largest_uncertainty_kg: Decimal
    largest_deviation_kg: Decimal
    source: str

    @property
    def in_class(self) -> bool:
        """Whether the certificate shows the weight to be of its class."""
        return self.uncertainty_fits and self.value_fits


def certified_class(weight_class: str, nominal: Mass, conventional_kg: Decimal, expanded_kg: Decimal) -> CertifiedClass:
    """Return whether U (k = 2) is at most a third of the limit, and |m_c - m_0| at most the limit less U; both exact.

    R 111-1:2004 5.2 and 5.3, from memory (high). Equality fits. The largest uncertainty is given as a third of the limit
    to ten decimals of a kilogram, downward; the comparison is by multiplication. Refuses a class or nominal value without
    a row (`NoTableValue`).
    """
    limit = class_limit(weight_class, nominal).kg
    deviation = EXACT.subtract(conventional_kg, nominal.kg).copy_abs()
    largest = EXACT.subtract(limit, expanded_kg)
    third = EXACT.divide_int(limit, Decimal("3e-10")).scaleb(-10)
    fits = EXACT.multiply(expanded_kg, Decimal(3)) <= limit
    return CertifiedClass(fits, deviation <= largest, third, largest, "OIML R 111-1:2004 5.2, 5.3, from memory")
