"""The largest hysteresis among the points of a phase, and the note on one that takes much of the tolerance."""

from collections.abc import Sequence
from decimal import Decimal

from api.metrology.exact_text import in_unit
from api.metrology.hysteresis import Hysteresis
from api.metrology.judgement import Flag, PointJudgement
from api.metrology.words_of_tests import unit_told

_Loads = dict[tuple[Decimal, str], PointJudgement]


def largest_hysteresis(points: Sequence[PointJudgement]) -> Hysteresis | None:
    """Return the largest difference of the loads that were read both ways in one unit, or None where none was.

    Of several readings of a load on one way the first counts. Values are taken before rounding where change-over points
    say so.
    """
    down = _first_of_each_load([p for p in points if p.reading.test == "decreasing"])
    if not down:
        return None
    up = _first_of_each_load([p for p in points if p.reading.test == "increasing"])
    found = [_both_ways(up[key], down[key]) for key in down if key in up]
    return max(found, key=lambda h: abs(h.difference_kg), default=None)


def _first_of_each_load(points: Sequence[PointJudgement]) -> _Loads:
    loads: _Loads = {}
    for point in points:
        if point.nominal_kg:
            loads.setdefault((point.nominal_kg, point.reading.indication.unit), point)
    return loads


def _both_ways(up: PointJudgement, down: PointJudgement) -> Hysteresis:
    tolerance = down.tolerance.kg if down.tolerance is not None else None
    return Hysteresis(up.nominal_kg, down.shown_kg - up.shown_kg, tolerance, unit_told([up]))


def hysteresis_note(found: Hysteresis | None, pointer: str) -> list[Flag]:
    """Return the note on a phase whose largest hysteresis takes more than half of the tolerance, or nothing."""
    if found is None or not found.worth_a_note or found.tolerance_kg is None:
        return []
    tolerance = f"{in_unit(found.tolerance_kg, found.unit)} {found.unit}"
    said = f"The same load shows {found.words}: more than half of the tolerance of {tolerance}."
    facts = {"difference": f"{found.difference_kg:f} kg", "tolerance": f"{found.tolerance_kg:f} kg"}
    return [Flag("hysteresis-large", said, facts, pointer)]
