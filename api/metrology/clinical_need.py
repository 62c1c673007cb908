"""What a ward itself needs of a weight, and the shape of the statement on it: beside the tolerance, never instead."""

from dataclasses import dataclass
from decimal import Decimal

from api.metrology.decision import Answer
from api.metrology.mass import EXACT


@dataclass(frozen=True, slots=True)
class ClinicalNeed:
    """The largest error that does not matter to a ward: a mass, a percentage of the weight, or the larger of the two."""

    ward: str
    mass_kg: Decimal | None
    percent: Decimal | None
    source: str

    def limit_at(self, load_kg: Decimal) -> Decimal:
        """Return the limit at a load in kilograms, the larger where both a mass and a percentage are stated."""
        if self.percent is None:
            return self.mass_kg or Decimal(0)
        share = EXACT.multiply(EXACT.multiply(load_kg, self.percent), Decimal("0.01"))
        return max(self.mass_kg or Decimal(0), share)


@dataclass(frozen=True, slots=True)
class ClinicalStatement:
    """Whether a phase meets what the ward needs: the answer, its words, and the result that came nearest to the limit.

    Load, error, printed U and limit in kilograms; all None where no result could be used.
    """

    ward: str
    answer: Answer
    words: str
    source: str
    load_kg: Decimal | None = None
    error_kg: Decimal | None = None
    printed_kg: Decimal | None = None
    limit_kg: Decimal | None = None
