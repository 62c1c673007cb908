"""A change of the indication against its limit, with what the rounding of the display may hide of it."""

from dataclasses import dataclass
from decimal import Decimal

from api.metrology.mass import EXACT
from api.metrology.scale import Range
from api.metrology.tolerance import Scheme, Tolerance
from api.metrology.verdict import Verdict


@dataclass(frozen=True, slots=True)
class Shift:
    """What was shown before and after, in kilograms; the limit of the change; how much of it rounding may hide."""

    before_kg: Decimal
    after_kg: Decimal
    limit: Tolerance
    hidden_kg: Decimal

    @property
    def kg(self) -> Decimal:
        """The change, exact: positive where more is shown than before."""
        return EXACT.subtract(self.after_kg, self.before_kg)

    @property
    def verdict(self) -> Verdict:
        """Pass or fail where rounding cannot change the answer, else undecided; on the limit passes."""
        size = abs(self.kg)
        if size - self.hidden_kg > self.limit.kg:
            return "fail"
        return "pass" if size + self.hidden_kg <= self.limit.kg else "undecided"


def hidden_by_rounding(scheme: Scheme, in_use: Range, plain_readings: int) -> Decimal:
    """Return what rounding hides of a difference: half a division for each reading without a change-over point.

    R 76 takes the rounding out where d is above 0.2 e (OIML R 76-1:2006 3.5.3.2, from memory); HB 44 takes the value
    as it is shown (common practice, no source).
    """
    if scheme.name != "r76" or in_use.d_kg * 5 <= in_use.e_kg:
        return Decimal(0)
    return in_use.d_kg / 2 * plain_readings
