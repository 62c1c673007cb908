"""The published tolerance tables, in their documents' order and numbers. Data only; `tolerance` reads them.

Rows give the largest number of verification intervals e for which a multiple of e holds; the bound is inclusive.
"""

from dataclasses import dataclass
from decimal import Decimal
from typing import Final


@dataclass(frozen=True, slots=True)
class Band:
    """One step of a tolerance table: up to and including so many e (None: no end), so many e of tolerance."""

    up_to: int | None
    multiple: Decimal


def _bands(*rows: tuple[int | None, str]) -> tuple[Band, ...]:
    return tuple(Band(up_to, Decimal(multiple)) for up_to, multiple in rows)


# NIST Handbook 44, section 2.20, Table 6, maintenance tolerances (T.N.3.1), numbers unchanged through the 2017-2026
# editions. Classes II and III read second-hand on a federal laboratory scale test form (FGIS-904) that uses the same
# steps; classes I, IIII and III L from memory (high confidence). Acceptance is one half (T.N.3.2, from memory, high).
# Class III L continues: 1 e more for each further 500 e or fraction of it.
HB44_MAINTENANCE: Final[dict[str, tuple[Band, ...]]] = {
    "I": _bands((50_000, "1"), (200_000, "2"), (None, "3")),
    "II": _bands((5_000, "1"), (20_000, "2"), (None, "3")),
    "III": _bands((500, "1"), (2_000, "2"), (4_000, "3"), (None, "5")),
    "IIII": _bands((50, "1"), (200, "2"), (400, "3"), (None, "5")),
    "IIIL": _bands((500, "1"), (1_000, "2")),
}
HB44_IIIL_STEP: Final = 500

# OIML R 76-1:2006, clause 3.5.1, Table 6, maximum permissible errors on initial verification; read as Annex I of
# Directive 2014/31/EU in the French decree 91-330. In service they are twice these (clause 3.5.2, read in the same).
# Above the last bound the table has no value.
R76_INITIAL: Final[dict[str, tuple[Band, ...]]] = {
    "I": _bands((50_000, "0.5"), (200_000, "1.0"), (None, "1.5")),
    "II": _bands((5_000, "0.5"), (20_000, "1.0"), (100_000, "1.5")),
    "III": _bands((500, "0.5"), (2_000, "1.0"), (10_000, "1.5")),
    "IIII": _bands((50, "0.5"), (200, "1.0"), (1_000, "1.5")),
}
