"""A difference of two weighings: what was added on top of a base load that stayed on the scale.

On a dialysis ward it is the difference of two weights that sets how much fluid is taken off, so its error matters more
than that of either weight.
"""

from dataclasses import dataclass
from decimal import Decimal

from api.metrology.budget import Budget
from api.metrology.decision import Answer


@dataclass(frozen=True, slots=True)
class Difference:
    """One difference in kilograms: seen less added is its error; the budget of it; the ward's limit and answer, if any.

    `seq` and `base_seq` are the numbers of the two readings, `base_kg` the load that stayed.
    """

    seq: int
    base_seq: int
    base_kg: Decimal
    added_kg: Decimal
    seen_kg: Decimal
    error_kg: Decimal
    budget: Budget
    limit_kg: Decimal | None = None
    answer: Answer | None = None
