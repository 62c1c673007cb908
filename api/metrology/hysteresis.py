"""Hysteresis: what the same load shows on the way down less what it showed on the way up.

Both ways are limited by the tolerance alone: OIML R 76-1:2006 A.4.4.1 and NIST HB 44 section 2.20 N.1.2.1, from memory.
That a difference above half the tolerance is worth a note is common practice, no source.
"""

from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from api.metrology.exact_text import in_unit

WORTH_A_NOTE: Final = Decimal("0.5")


@dataclass(frozen=True, slots=True)
class Hysteresis:
    """One load both ways: down minus up in kilograms, exact, the tolerance at the load where it has one, the unit told."""

    load_kg: Decimal
    difference_kg: Decimal
    tolerance_kg: Decimal | None
    unit: str = "kg"

    @property
    def worth_a_note(self) -> bool:
        """Whether it takes more than half of the tolerance."""
        return self.tolerance_kg is not None and abs(self.difference_kg) > WORTH_A_NOTE * self.tolerance_kg

    @property
    def words(self) -> str:
        """The difference at its load, with its sign: positive where it shows more on the way down."""
        at = f"{in_unit(self.load_kg, self.unit)} {self.unit}"
        if not self.difference_kg:
            return f"no difference between up and down at {at}"
        sign = "+" if self.difference_kg > 0 else ""
        return f"{sign}{in_unit(self.difference_kg, self.unit)} {self.unit} from up to down at {at}"
