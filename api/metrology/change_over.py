"""The change-over point: small weights are added until the display goes one step up, and the rounding is gone.

OIML R 76-1:2006 A.4.4.3, from memory (high confidence). The half step is that of the range in which the next higher
value is shown. Where the display steps by less than e, the step it really makes counts.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from api.metrology.mass import EXACT
from api.metrology.readings import Reading
from api.metrology.refusals import BadChangeOver
from api.metrology.scale import Scale, display_range

# Weights of 0.1 e are added one by one (R 76-1 A.4.4.3, from memory): that step is what remains of the rounding.
ADDED_STEP = Decimal("0.1")


@dataclass(frozen=True, slots=True)
class ChangeOver:
    """What a change-over point says, in kilograms: P before rounding, the error E there, and E0 where zero had one."""

    point_kg: Decimal
    error_kg: Decimal
    zero_error_kg: Decimal | None = None

    @property
    def corrected_kg(self) -> Decimal:
        """Ec = E - E0; without a change-over point at zero, E itself."""
        return self.error_kg if self.zero_error_kg is None else EXACT.subtract(self.error_kg, self.zero_error_kg)


def change_over_point(indication_kg: Decimal, step_kg: Decimal, added_kg: Decimal) -> Decimal:
    """Return what the display would have shown before rounding, P = I + step / 2 - added, in kilograms.

    Refuses an addition below zero, or above one step: within one step the display has to change (`BadChangeOver`).

    >>> change_over_point(Decimal("1"), Decimal("0.005"), Decimal("0.0015"))
    Decimal('1.0010')
    """
    if not 0 <= added_kg <= step_kg:
        raise BadChangeOver(
            f"{added_kg:f} kg was added up to the change-over; it comes within one step of {step_kg:f} kg.",
            added=f"{added_kg:f} kg",
            step=f"{step_kg:f} kg",
        )
    return EXACT.subtract(EXACT.add(indication_kg, EXACT.multiply(step_kg, Decimal("0.5"))), added_kg)


def exact_indication(reading: Reading, scale: Scale) -> Decimal:
    """Return what a reading says in kilograms: before rounding where it has a change-over point, else as shown.

    Refuses a change-over point that cannot be one (`BadChangeOver`) and a unit that the scale does not show.
    """
    shown, added = reading.indication, reading.change_over_added
    if added is None:
        return shown.kg
    here = display_range(scale, shown.unit, shown.kg, reading.range_selected)
    following = display_range(scale, shown.unit, shown.kg + here.d_kg, reading.range_selected)
    return change_over_point(shown.kg, following.d_kg, added.kg)


@dataclass(frozen=True, slots=True)
class ZeroTaken:
    """One reading at zero: its number, what was shown, and its error where it was taken with a change-over point."""

    seq: int
    shown_kg: Decimal
    error_kg: Decimal | None


def zero_before(seq: int, zeros: Sequence[ZeroTaken]) -> ZeroTaken | None:
    """Return the zero that holds for a reading: the last one taken before it, else the first after; None without any."""
    earlier = [zero for zero in zeros if zero.seq < seq]
    if earlier:
        return max(earlier, key=lambda zero: zero.seq)
    return min(zeros, key=lambda zero: zero.seq, default=None)
