"""The change-over point: small weights are added until the display goes one step up, and the rounding is gone.

OIML R 76-1:2006 A.4.4.3, from memory (high confidence). The half step is that of the range in which the next higher
value is shown. Where the display steps by less than e, the step it really makes counts.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from api.metrology.mass import EXACT
from api.metrology.readings import Reading
from api.metrology.refusals import NoChangeOver
from api.metrology.scale import Scale, display_range

# Weights of 0.1 e are added one by one (R 76-1 A.4.4.3, from memory): that step is what remains of the rounding.
ADDED_STEP = Decimal("0.1")


@dataclass(frozen=True, slots=True)
class ChangeOver:
    """What a change-over point says, in one unit: P before rounding, the error E there, and E0 where zero had one."""

    before_rounding: Decimal
    error: Decimal
    error_at_zero: Decimal | None = None

    @property
    def corrected_error(self) -> Decimal:
        """Ec = E - E0; without a change-over point at zero, E itself."""
        return self.error if self.error_at_zero is None else EXACT.subtract(self.error, self.error_at_zero)


def change_over(
    load: Decimal, indication: Decimal, added: Decimal, step: Decimal, error_at_zero: Decimal | None = None
) -> ChangeOver:
    """Return P = I + step/2 - added, E = P - L and E0, all in one unit, exact. Positive where the scale reads heavy.

    `step` is the e of the range in which I + e appears. Refuses what `change_over_point` refuses.

    >>> change_over(Decimal(1000), Decimal(1000), Decimal("1.5"), Decimal(5), Decimal("0.5")).corrected_error
    Decimal('0.5')
    """
    point = change_over_point(indication, step, added)
    return ChangeOver(point, EXACT.subtract(point, load), error_at_zero)


def change_over_point(indication: Decimal, step: Decimal, added: Decimal) -> Decimal:
    """Return what the display would have shown before rounding, P = I + step / 2 - added, all in one unit.

    Refuses weights that cannot have been added for one step: below 0 or above it (`NoChangeOver`).

    >>> change_over_point(Decimal("1"), Decimal("0.005"), Decimal("0.0015"))
    Decimal('1.0010')
    """
    if not 0 <= added <= step:
        raise NoChangeOver(
            f"Weights of {added:f} cannot have raised the indication by one step of {step:f}: from 0 to one step are added; "
            "begin again where the indication stands still.",
            added=f"{added:f}",
            step=f"{step:f}",
        )
    return EXACT.subtract(EXACT.add(indication, EXACT.multiply(step, Decimal("0.5"))), added)


def exact_indication(reading: Reading, scale: Scale) -> Decimal:
    """Return what a reading says in kilograms: before rounding where it has a change-over point, else as shown.

    Refuses a change-over point that cannot be one (`NoChangeOver`) and a unit that the scale does not show.
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
