"""Change-over points: the error of a digital indication without its rounding, exact.

OIML R 76-1:2006 A.4.4.3, from memory (high confidence): at a load, small weights are added until the indication rises by
one e; what was shown before the rounding follows. Needed where d is larger than 0.2 e (R 76-1 3.5.3.2).
"""

from dataclasses import dataclass
from decimal import Decimal

from api.metrology.mass import EXACT
from api.metrology.refusals import NoChangeOver


@dataclass(frozen=True, slots=True)
class ChangeOver:
    """What a change-over gives, in the unit of the readings: the indication P before rounding, the error E, and Ec."""

    before_rounding: Decimal
    error: Decimal
    corrected_error: Decimal


def change_over(
    load: Decimal, indication: Decimal, added: Decimal, e: Decimal, error_at_zero: Decimal = Decimal(0)
) -> ChangeOver:
    """Return P = I + e/2 - dL, E = P - L and Ec = E - E0, all in one unit, exact. Positive where the scale reads heavy.

    `added` is dL, the small weights that raised the indication by one e; `e` that of the range in which I + e appears.
    Refuses weights that cannot have been added for one step: below 0 or above e (`NoChangeOver`).

    >>> change_over(Decimal(1000), Decimal(1000), Decimal("1.5"), Decimal(5), Decimal("0.5")).corrected_error
    Decimal('0.5')
    """
    if not 0 <= added <= e:
        raise NoChangeOver(
            f"Weights of {added:f} cannot have raised the indication by one e of {e:f}: from 0 to e are added; "
            "begin again where the indication stands still.",
            added=f"{added:f}",
            e=f"{e:f}",
        )
    before = EXACT.subtract(EXACT.add(indication, EXACT.multiply(e, Decimal("0.5"))), added)
    error = EXACT.subtract(before, load)
    return ChangeOver(before, error, EXACT.subtract(error, error_at_zero))
