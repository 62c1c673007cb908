"""The ward's clinical requirement: the largest error at the loads it weighs, against the limit the ward itself stated.

A statement of its own beside the tolerance (ISO 10012:2003 7.2.1 asks for requirements of the measuring process, from
memory, low confidence on the clause): no verdict of a test or a phase depends on it.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from api.metrology.clinical_need import ClinicalNeed, ClinicalStatement
from api.metrology.decision import Answer, requirement_answer
from api.metrology.exact_text import plain
from api.metrology.judgement import PointJudgement
from api.metrology.words_of_tests import counted

# The tests whose readings weigh a load as the ward does.
AS_WEIGHED: Final = (
    "increasing", "decreasing", "repeatability", "first loading", "eccentricity", "rolling load", "tare", "power cycle",
    "difference",
)  # fmt: skip
# Reasons that leave a verdict open and the error good: the answer is made with U, which holds them.
_ERROR_IS_GOOD: Final = frozenset({"rounding-undecided", "empty-acceptance-zone", "weights-too-coarse"})
_WORST_FIRST: Final[tuple[Answer, ...]] = ("not met", "cannot say", "met")


def clinical_statement(
    points: Sequence[PointJudgement], need: ClinicalNeed | None, heaviest_load_used_kg: Decimal | None
) -> ClinicalStatement | None:
    """Return whether a phase meets the ward's requirement at its loads, or None where the ward stated none.

    Met where the error with its printed U stays within the limit, not met where the error alone is beyond, else it cannot
    be said. The ward's loads end at the heaviest load used, where it is known: nothing is met that was not placed, unless
    the next load above it meets the limit too.
    """
    if need is None:
        return None
    at_its_loads = [p for p in points if _counts(p, heaviest_load_used_kg)]
    usable = [p for p in at_its_loads if p.error_kg is not None and (not p.reasons or _error_is_good(p))]
    if not usable:
        return ClinicalStatement(need.ward, "cannot say", "No result at the ward's loads could be used.", need.source)
    told = min(_held_against(usable, need), key=lambda held: (_WORST_FIRST.index(held.answer), -held.used_up))
    gap = _not_reached(usable, at_its_loads, heaviest_load_used_kg) if told.answer == "met" else ""
    if gap and heaviest_load_used_kg is not None and _closed_above(points, need, heaviest_load_used_kg):
        gap = _left_out(usable, at_its_loads)
    return _stated(told, usable, need, gap)


@dataclass(frozen=True, slots=True)
class _Held:
    """One result held against the limit at its load, and the share of the limit that its error takes."""

    point: PointJudgement
    limit_kg: Decimal
    answer: Answer
    used_up: float


def _counts(point: PointJudgement, heaviest_kg: Decimal | None) -> bool:
    if point.reading.test not in AS_WEIGHED or not point.nominal_kg:
        return False
    return heaviest_kg is None or point.nominal_kg <= heaviest_kg


def _error_is_good(point: PointJudgement) -> bool:
    return all(reason.code in _ERROR_IS_GOOD for reason in point.reasons)


def _held_against(usable: Sequence[PointJudgement], need: ClinicalNeed) -> list[_Held]:
    """Equal results are held against the limit once."""
    different = {(p.nominal_kg, p.error_kg, id(p.budget)): p for p in usable}
    return [_held(point, need.limit_at(point.nominal_kg)) for point in different.values()]


def _held(point: PointJudgement, limit_kg: Decimal) -> _Held:
    assert point.error_kg is not None  # left out before
    assert point.budget is not None  # an error has its budget
    answer = requirement_answer(point.error_kg, limit_kg, point.budget.printed)
    used_up = float(abs(point.error_kg)) / float(limit_kg) if limit_kg else math.inf
    return _Held(point, limit_kg, answer, used_up)


def _not_reached(
    usable: Sequence[PointJudgement], placed: Sequence[PointJudgement], heaviest_kg: Decimal | None
) -> str:
    """Return what keeps a requirement that every usable result meets from being met, or nothing."""
    top = max(p.nominal_kg for p in usable)
    if heaviest_kg is not None and top < heaviest_kg:
        return f" Nothing above {plain(top)} kg could be used, and up to {plain(heaviest_kg)} kg is weighed."
    return _left_out(usable, placed)


def _closed_above(points: Sequence[PointJudgement], need: ClinicalNeed, heaviest_kg: Decimal) -> bool:
    """Whether the lowest load placed above the heaviest one used meets the limit with every result: then so does between."""
    above = [p for p in points if p.reading.test in AS_WEIGHED and p.nominal_kg > heaviest_kg]
    lowest = min((p.nominal_kg for p in above), default=None)
    closing = [p for p in above if p.nominal_kg == lowest]
    usable = [p for p in closing if p.error_kg is not None and (not p.reasons or _error_is_good(p))]
    return bool(usable) and len(usable) == len(closing) and all(h.answer == "met" for h in _held_against(usable, need))


def _left_out(usable: Sequence[PointJudgement], placed: Sequence[PointJudgement]) -> str:
    left_out = len(placed) - len(usable)
    return f" {counted(left_out, 'result')} could not be used." if left_out else ""


def _stated(held: _Held, usable: Sequence[PointJudgement], need: ClinicalNeed, gap: str) -> ClinicalStatement:
    told, limit = held.point, held.limit_kg
    assert told.error_kg is not None
    assert told.budget is not None
    printed, loads = told.budget.printed, [p.nominal_kg for p in usable]
    words = (
        f"The ward's limit at {plain(told.nominal_kg)} kg is {plain(limit)} kg either way. Of "
        f"{counted(len(usable), 'result')} from {plain(min(loads))} to {plain(max(loads))} kg the one there "
        f"takes most of its limit: error {told.error_kg.normalize():+f} kg with U = {printed:f} kg.{gap}"
    )
    answer: Answer = "cannot say" if gap else held.answer
    return ClinicalStatement(need.ward, answer, words, need.source, told.nominal_kg, told.error_kg, printed, limit)
