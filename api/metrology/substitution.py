"""How much certified mass a capacity asks for, and how to go on where the pieces end: substitution, and where it stops.

In a substitution the pieces are taken off and ballast is put on until the scale shows the same; then the pieces are put
on again, on top of the ballast. The sum is known, with the uncertainty of each exchange in it.
"""

from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from api.metrology.mass import EXACT, in_kilograms
from api.metrology.scale import Scale, capacity_in

# NIST HB 44 2.20 N.3 Table 4, notes, from memory: not more than three substitutions.
MOST_SUBSTITUTIONS: Final = 3


@dataclass(frozen=True, slots=True)
class MinimumTest:
    """The least certified mass and the least total load for a capacity, in kg, and the source."""

    weights_kg: Decimal
    load_kg: Decimal
    source: str


@dataclass(frozen=True, slots=True)
class Substitution:
    """One exchange: which indication the ballast has to reach, and the known load once the pieces stand on it again."""

    number: int
    ballast_kg: Decimal
    reaches_kg: Decimal


# NIST HB 44 2.20 N.3 Table 4: (capacity up to, share of capacity, or at least, share of the load). First and second row's
# shares read second hand in an engineering forum, the rest from memory.
_KILOGRAM_ROWS: Final = (
    ("150", "1", "0", "1"), ("1500", "0.25", "150", "0.75"), ("20000", "0.125", "500", "0.5"),
    ("999999", "0.125", "5000", "0.25"),
)  # fmt: skip
_POUND_ROWS: Final = (
    ("300", "1", "0", "1"), ("3000", "0.25", "300", "0.75"), ("40000", "0.125", "1000", "0.5"),
    ("999999", "0.125", "10000", "0.25"),
)  # fmt: skip


def minimum_test(scale: Scale, unit: str) -> MinimumTest:
    """Return what HB 44 Table 4 asks of a scale, in kilograms; rows of the table are in pounds for a scale in pounds."""
    pounds = unit in ("[lb_av]", "[oz_av]", "[stone_av]")
    row_unit = "[lb_av]" if pounds else "kg"
    capacity = capacity_in(scale, unit).max_kg
    rows = _POUND_ROWS if pounds else _KILOGRAM_ROWS
    _, share, least, load_share = next(row for row in rows if capacity <= in_kilograms(Decimal(row[0]), row_unit))
    weights = max(EXACT.multiply(capacity, Decimal(share)), in_kilograms(Decimal(least), row_unit))
    return MinimumTest(
        weights, EXACT.multiply(capacity, Decimal(load_share)), "NIST HB 44 2.20 N.3 Table 4, part second hand"
    )


def r76_share(repeatability_in_e: Decimal | None) -> Decimal:
    """Return the share of Max that real weights must make where ballast stands for the rest.

    OIML R 76-1:2006 3.7.3, from memory: one half; one third where the repeatability is at most 0.3 e, one fifth at most
    0.2 e. The third is returned as 0.334, on the safe side.
    """
    if repeatability_in_e is None or repeatability_in_e > Decimal("0.3"):
        return Decimal("0.5")
    return Decimal("0.334") if repeatability_in_e > Decimal("0.2") else Decimal("0.2")


def r76_condition(weights_kg: Decimal, max_kg: Decimal) -> str | None:
    """Return in a sentence under which repeatability real weights are enough for ballast to stand for the rest; None where
    they are enough under none. OIML R 76-1:2006 3.7.3, from memory."""
    for most, said in (
        (None, "the weights make at least one half of Max"),
        (Decimal("0.3"), "only if the repeatability is at most 0.3 e: the weights make at least one third of Max"),
        (Decimal("0.2"), "only if the repeatability is at most 0.2 e: the weights make at least one fifth of Max"),
    ):
        if weights_kg >= EXACT.multiply(max_kg, r76_share(most)):
            return f"{said} (OIML R 76-1:2006 3.7.3, from memory)"
    return None


def substitutions(weights_kg: Decimal, top_kg: Decimal) -> tuple[Substitution, ...]:
    """Return the exchanges from the certified mass up to the top load, three at most; none where the pieces reach it.

    >>> [f"{s.reaches_kg:f}" for s in substitutions(Decimal(100), Decimal(250))]
    ['200', '250']
    """
    steps: list[Substitution] = []
    reached = weights_kg
    while weights_kg and reached < top_kg and len(steps) < MOST_SUBSTITUTIONS:
        ballast, reached = reached, min(EXACT.add(reached, weights_kg), top_kg)
        steps.append(Substitution(len(steps) + 1, ballast, reached))
    return tuple(steps)
