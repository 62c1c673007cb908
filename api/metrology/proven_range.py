"""How far the readings support the verdict: from the lowest to the highest load proven without a gap.

Never above the highest load really placed, never below the lowest load proven or Min; beyond it nothing is claimed.
"""

from collections import defaultdict
from collections.abc import Sequence
from decimal import Decimal

from api.metrology.exact_text import in_unit
from api.metrology.judgement import JudgedTest, PointJudgement, ProvenRange
from api.metrology.verdict import Verdict, worst
from api.metrology.words_of_tests import unit_told

# Tests of which every reading stands for its load on the platform as it is used.
_LOADED = ("increasing", "decreasing", "repeatability", "first loading")
# Tests whose loads count where they were decided; what they leave open takes nothing away from the others.
_LOADED_TOO = ("tare", "creep", "rolling load", "difference", "unit switch", "power cycle")
_SUPPORTS: tuple[Verdict, ...] = ("pass", "conditional pass")
_FAILS: tuple[Verdict, ...] = ("fail", "conditional fail")
# Tests that speak for every load at once: without them no load is proven.
_WHOLE = ("zero", "return to zero", "eccentricity", "repeatability", "discrimination", "creep")


def proven_range(
    points: Sequence[PointJudgement], tests: Sequence[JudgedTest], least_kg: Decimal, most_kg: Decimal | None
) -> tuple[ProvenRange | None, str]:
    """Return the proven range in kilograms, and the sentence that says it or why there is none.

    `least_kg` is Min, `most_kg` a limit from the span adjustment where one holds.
    """
    failed = [t.test for t in tests if t.test in _WHOLE and _takes_away(t)]
    if failed:
        return None, f"No load is proven: {' and '.join(failed)} did not pass."
    run = _first_run(points)
    if not run:
        return None, "No load is proven: no increasing load passed."
    low, high = max(run[0], least_kg), run[-1] if most_kg is None else min(run[-1], most_kg)
    if run[-1] < least_kg:
        return None, f"No load is proven: the loads that passed lie below Min ({least_kg.normalize():f} kg)."
    if low > high:
        return (
            None,
            f"No load is proven: the span was adjusted at {high.normalize():f} kg, below every load that counts.",
        )
    capped = " (not above the load at which the span was adjusted)" if high != run[-1] else ""
    unit = unit_told([p for p in points if p.reading.test == "increasing"])
    said = f"Proven from {in_unit(low, unit)} to {in_unit(high, unit)} {unit}{capped}"
    direct = _directly_to(points, high)
    if direct is None:
        return ProvenRange(low, high), f"{said}."
    return ProvenRange(
        low, high, direct
    ), f"{said}: directly to {in_unit(direct, unit)} {unit}, above it by substitution."


def _directly_to(points: Sequence[PointJudgement], high_kg: Decimal) -> Decimal | None:
    """The highest load that pieces alone made within the proven range; None where they made all of it."""
    if not any(p.load is not None and p.load.substitutions for p in points):
        return None
    by_pieces = [p.nominal_kg for p in points if p.load is not None and not p.load.substitutions and _counts(p)]
    direct = max((load for load in by_pieces if load <= high_kg), default=Decimal(0))
    return direct if direct < high_kg else None


def _takes_away(test: JudgedTest) -> bool:
    """A required test must have passed; any other must not have failed."""
    return test.verdict in _FAILS or (test.required and test.verdict not in _SUPPORTS)


def _first_run(points: Sequence[PointJudgement]) -> list[Decimal]:
    """The loads that passed in a row, from the lowest one that passed; a load counts by the worst of its readings.

    They are read in one unit, that of most increasing loads: a pass in pounds is none in kilograms. A fail in any unit
    ends the run.
    """
    increasing = [p for p in points if p.reading.test == "increasing"]
    units = [p.reading.indication.unit for p in increasing]
    unit = max(dict.fromkeys(units), key=units.count, default=None)
    by_load: dict[Decimal, list[Verdict]] = defaultdict(list)
    for point in points:
        if _counts(point) and point.nominal_kg > 0 and _speaks(point, unit):
            by_load[point.nominal_kg].append(point.verdict)
    placed = {p.nominal_kg for p in increasing}
    run: list[Decimal] = []
    for load in sorted(by_load):
        if worst(by_load[load]) in _SUPPORTS:
            run += [load] if load in placed or run else []
        elif run:
            break
    return run


def _counts(point: PointJudgement) -> bool:
    test = point.reading.test
    return test in _LOADED or (test in _LOADED_TOO and point.verdict in (*_SUPPORTS, *_FAILS))


def _speaks(point: PointJudgement, unit: str | None) -> bool:
    return point.reading.indication.unit == unit or point.verdict not in _SUPPORTS
