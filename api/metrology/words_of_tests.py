"""The words in which a test of a phase is told: its loads, its largest error, the reasons of its points."""

from collections import defaultdict
from collections.abc import Sequence
from decimal import Decimal

from api.metrology.judgement import Flag, PointJudgement


def plain(value: Decimal) -> str:
    """Return a number without trailing zeros and without an exponent.

    >>> plain(Decimal("200.0"))
    '200'
    """
    return f"{value.normalize():f}"


def counted(count: int, noun: str) -> str:
    """Return a count with its noun.

    >>> counted(2, "load")
    '2 loads'
    """
    return f"{count} {noun}{'' if count == 1 else 's'}"


def loads_in_words(points: Sequence[PointJudgement]) -> str:
    """Return how many loads were placed, from which to which, in kilograms."""
    loads = [p.nominal_kg for p in points]
    spread = plain(max(loads)) if min(loads) == max(loads) else f"{plain(min(loads))} to {plain(max(loads))}"
    substituted = sum(1 for p in points if p.load is not None and p.load.substitutions)
    by_substitution = f", {substituted} of them by substitution" if substituted else ""
    return f"{counted(len(points), 'load')}, {spread} kg{by_substitution}"


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
