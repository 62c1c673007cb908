"""The words in which a test of a phase is told: its loads, its largest error, the reasons of its points."""

from collections import defaultdict
from collections.abc import Sequence
from decimal import Decimal

from api.metrology.exact_text import in_unit
from api.metrology.judgement import Flag, PointJudgement


def unit_told(points: Sequence[PointJudgement]) -> str:
    """Return the unit in which masses are told: grams where the display counts in them or finer, else kilograms."""
    return "g" if points and points[0].reading.indication.unit in ("g", "mg") else "kg"


def amount(kg: Decimal, points: Sequence[PointJudgement]) -> str:
    """Return a mass given in kilograms with its unit, as the readings of some points are told."""
    unit = unit_told(points)
    return f"{in_unit(kg, unit)} {unit}"


def counted(count: int, noun: str) -> str:
    """Return a count with its noun.

    >>> counted(2, "load")
    '2 loads'
    """
    return f"{count} {noun}{'' if count == 1 else 's'}"


def loads_in_words(points: Sequence[PointJudgement]) -> str:
    """Return how many loads were placed, from which to which."""
    loads, unit = [p.nominal_kg for p in points], unit_told(points)
    least, most = in_unit(min(loads), unit), in_unit(max(loads), unit)
    spread = most if least == most else f"{least} to {most}"
    substituted = sum(1 for p in points if p.load is not None and p.load.substitutions)
    by_substitution = f", {substituted} of them by substitution" if substituted else ""
    return f"{counted(len(points), 'load')}, {spread} {unit}{by_substitution}"


def reasons_of(points: Sequence[PointJudgement]) -> tuple[Flag, ...]:
    """Return the reasons of several points, one of each code."""
    seen = {reason.code: reason for point in points for reason in point.reasons}
    return tuple(seen.values())


def largest_error(points: Sequence[PointJudgement]) -> Decimal | None:
    """Return the largest error either way in kilograms, or None where no point has one."""
    return max((abs(p.error_kg) for p in points if p.error_kg is not None), default=None)


def by_load(points: Sequence[PointJudgement]) -> list[list[PointJudgement]]:
    """Return points in sets of one load in one unit: only those can be compared.

    A chair's seat and its armrests carry different loads.
    """
    sets: dict[tuple[Decimal, str], list[PointJudgement]] = defaultdict(list)
    for point in points:
        sets[point.nominal_kg, point.reading.indication.unit].append(point)
    return list(sets.values())
