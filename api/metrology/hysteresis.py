"""Hysteresis: what the same load shows on the way down less what it showed on the way up.

Both ways are limited by the tolerance alone: OIML R 76-1:2006 A.4.4.1 and NIST HB 44 section 2.20 N.1.2.1, from memory.
That a difference above half the tolerance is worth a note is common practice, no source.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from api.metrology.judgement import Flag, PointJudgement
from api.metrology.words_of_tests import plain

WORTH_A_NOTE: Final = Decimal("0.5")


@dataclass(frozen=True, slots=True)
class Hysteresis:
    """One load both ways: down minus up in kilograms, exact, and the tolerance at the load where it has one."""

    load_kg: Decimal
    difference_kg: Decimal
    tolerance_kg: Decimal | None

    @property
    def worth_a_note(self) -> bool:
        """Whether it takes more than half of the tolerance."""
        return self.tolerance_kg is not None and abs(self.difference_kg) > WORTH_A_NOTE * self.tolerance_kg

    @property
    def words(self) -> str:
        """The difference at its load, with its sign: positive where it shows more on the way down."""
        return f"{self.difference_kg.normalize():+f} kg from up to down at {plain(self.load_kg)} kg"


def largest_hysteresis(points: Sequence[PointJudgement]) -> Hysteresis | None:
    """Return the largest difference of the loads that were read both ways in one unit, or None where none was.

    Of several readings of a load on one way the first counts. Values are taken before rounding where change-over points
    say so.
    """
    up: dict[tuple[Decimal, str], PointJudgement] = {}
    down: dict[tuple[Decimal, str], PointJudgement] = {}
    for point in points:
        way = up if point.reading.test == "increasing" else down if point.reading.test == "decreasing" else None
        if way is not None and point.nominal_kg:
            way.setdefault((point.nominal_kg, point.reading.indication.unit), point)
    found = [_both_ways(up[key], down[key]) for key in down if key in up]
    return max(found, key=lambda h: abs(h.difference_kg), default=None)


def _both_ways(up: PointJudgement, down: PointJudgement) -> Hysteresis:
    tolerance = down.tolerance.kg if down.tolerance is not None else None
    return Hysteresis(up.nominal_kg, down.shown_kg - up.shown_kg, tolerance)


def hysteresis_note(points: Sequence[PointJudgement], pointer: str) -> list[Flag]:
    """Return the note on a phase whose largest hysteresis takes more than half of the tolerance, or nothing."""
    found = largest_hysteresis(points)
    if found is None or not found.worth_a_note or found.tolerance_kg is None:
        return []
    said = f"The same load shows {found.words}: more than half of the tolerance of {plain(found.tolerance_kg)} kg."
    facts = {"difference": f"{found.difference_kg:f} kg", "tolerance": f"{found.tolerance_kg:f} kg"}
    return [Flag("hysteresis-large", said, facts, pointer)]
