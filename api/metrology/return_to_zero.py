"""Return to zero: what the display shows when the load is off again, against what it showed before.

How much it may have changed is `return_limit`'s.
"""

from dataclasses import dataclass
from decimal import Decimal

from api.metrology.change_over import ZeroTaken, exact_indication, zero_before
from api.metrology.judgement import Flag
from api.metrology.readings import Reading
from api.metrology.return_limit import return_limit
from api.metrology.scale import Range, Scale
from api.metrology.shift import Shift, hidden_by_rounding
from api.metrology.tolerance import Scheme


@dataclass(frozen=True, slots=True)
class ZeroBefore:
    """The zero to compare with: its value in kilograms, and whether it is known before rounding."""

    kg: Decimal
    exact: bool


def zero_to_compare(reading: Reading, zeros: tuple[ZeroTaken, ...]) -> ZeroBefore | Flag:
    """Return the zero before the load: as the reading itself says, else the last zero taken, or why there is none."""
    if reading.before is not None:
        return ZeroBefore(reading.before.kg, False)
    zero = zero_before(reading.seq, [z for z in zeros if z.seq < reading.seq])
    if zero is None:
        return Flag("no-change-recorded", "What was shown at zero before the load was not recorded.")
    if reading.change_over_added is not None and zero.error_kg is not None:
        return ZeroBefore(zero.error_kg, True)
    return ZeroBefore(zero.shown_kg, False)


def zero_change(
    reading: Reading, zeros: tuple[ZeroTaken, ...], in_use: Range, scale: Scale, scheme: Scheme
) -> Shift | Flag:
    """Return the change of zero that a reading shows, positive where it shows more than before, or why it shows none.

    Refuses what `return_limit` and `exact_indication` refuse.
    """
    before = zero_to_compare(reading, zeros)
    if isinstance(before, Flag):
        return before
    limit = return_limit(scale, in_use, scheme, reading.minutes)
    plain = (reading.change_over_added is None) + (not before.exact)
    return Shift(before.kg, exact_indication(reading, scale), limit, hidden_by_rounding(scheme, in_use, plain))
