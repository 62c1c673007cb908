"""What a class asks of e and n: the published tables of NIST HB 44 and OIML R 76, in their documents' order. Data only.

A row holds for a verification interval e from `least` to `most`, both inclusive, in the unit of its table; n is Max / e.
"""

from dataclasses import dataclass
from decimal import Decimal
from typing import Final


@dataclass(frozen=True, slots=True)
class ClassRow:
    """One row: the intervals e it is for, and the fewest and most of them that a capacity may hold (None: no end)."""

    accuracy_class: str
    unit: str
    least: Decimal
    most: Decimal | None
    n_min: int
    n_max: int | None


def _row(accuracy_class: str, unit: str, least: str, most: str | None, n_min: int, n_max: int | None) -> ClassRow:
    return ClassRow(accuracy_class, unit, Decimal(least), None if most is None else Decimal(most), n_min, n_max)


# NIST HB 44 section 2.20 Table 3, "Parameters for Accuracy Classes"; classes II and III read second-hand on a public sheet
# that reproduces them, classes I, III L and IIII from memory (high). IIII in U.S. units begins above 0.01 lb and 0.25 oz.
HB44_TABLE_3: Final = (
    _row("I", "mg", "1", None, 50_000, None),
    _row("II", "mg", "1", "50", 100, 100_000),
    _row("II", "mg", "100", None, 5_000, 100_000),
    _row("III", "g", "0.1", "2", 100, 10_000),
    _row("III", "g", "5", None, 500, 10_000),
    _row("IIIL", "kg", "2", None, 2_000, 10_000),
    _row("IIII", "g", "5", None, 100, 1_200),
    _row("III", "[lb_av]", "0.0002", "0.005", 100, 10_000),
    _row("III", "[oz_av]", "0.005", "0.125", 100, 10_000),
    _row("III", "[lb_av]", "0.01", None, 500, 10_000),
    _row("III", "[oz_av]", "0.25", None, 500, 10_000),
    _row("IIIL", "[lb_av]", "5", None, 2_000, 10_000),
    _row("IIII", "[lb_av]", "0.02", None, 100, 1_200),
    _row("IIII", "[oz_av]", "0.5", None, 100, 1_200),
)

# OIML R 76-1:2006 Table 3, read as Annex I of Directive 2014/31/EU in the French decree 91-330.
R76_TABLE_3: Final = (
    _row("I", "g", "0.001", None, 50_000, None),
    _row("II", "g", "0.001", "0.05", 100, 100_000),
    _row("II", "g", "0.1", None, 5_000, 100_000),
    _row("III", "g", "0.1", "2", 100, 10_000),
    _row("III", "g", "5", None, 500, 10_000),
    _row("IIII", "g", "5", None, 100, 1_000),
)

# The marked Min in e, by class and interval: R 76-1:2006 Table 3 (the same copy). II: 20 e up to 0.05 g, else 50 e.
R76_MIN_IN_E: Final[dict[str, int]] = {"I": 100, "III": 20, "IIII": 10}
R76_MIN_II_FINE: Final = 20  # R 76-1:2006 Table 3
R76_MIN_II: Final = 50  # R 76-1:2006 Table 3; a public copy of the UK order prints 500
R76_II_FINE_TO_G: Final = Decimal("0.05")

# R 76-1:2006 Table 4: the least Max_i / e_(i+1) of a partial range that is not the last (the same copy).
R76_TABLE_4: Final[dict[str, int]] = {"I": 50_000, "II": 5_000, "III": 500, "IIII": 50}
