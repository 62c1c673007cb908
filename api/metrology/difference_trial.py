"""The difference test: known pieces are added to a base load that stays, and the difference shown is held against them.

What cancels and what does not: both readings count from the same zero, so the rounding there is in each of them alike and
drops out. Each reading is rounded on its own, at the base load and above it, so two roundings remain. The pieces of the
base load stand in both readings, so their errors and their place drop out; those of the added pieces remain. Both readings
repeat as any reading does: sqrt 2 times s, too much rather than too little, since the base load is not lifted between them.
"""

import math
from collections.abc import Sequence
from dataclasses import replace

from api.metrology import contributions
from api.metrology.budget import Budget, Contribution
from api.metrology.decision import requirement_answer
from api.metrology.difference import Difference
from api.metrology.exact_text import in_unit
from api.metrology.judgement import Flag, JudgedTest, PointJudgement
from api.metrology.load_trials import loads
from api.metrology.phase_context import PhaseContext
from api.metrology.refusals import Refusal
from api.metrology.uncertainty import budget_of
from api.metrology.weights import ReferenceLoad
from api.metrology.words_of_tests import counted, unit_told

_NOT_MET_FIRST = ("not met", "cannot say", "met")


def difference(points: Sequence[PointJudgement], required: bool, context: PhaseContext) -> JudgedTest:
    """Return the difference test: each reading within its tolerance; the differences beside, against the ward's limit.

    No published scheme limits a difference: without a limit of the ward it is told, and no verdict hangs on it.
    """
    judged = loads("difference", points, required, context)
    by_seq = {p.reading.seq: p for p in points}
    found = [_difference(p, by_seq, context) for p in points if p.reading.base is not None]
    told = tuple(d for d in found if isinstance(d, Difference))
    reasons = {flag.code: flag for flag in found if isinstance(flag, Flag)}
    if not told:
        return judged._replace(reasons=(*judged.reasons, *reasons.values()))
    largest = max(told, key=lambda d: abs(d.error_kg))
    weighed = judged.words.removesuffix("; largest error")
    return judged._replace(
        words=f"{weighed}; {_words(told, unit_told(points))}", measured_kg=abs(largest.error_kg),
        reasons=(*judged.reasons, *reasons.values()), differences=told,
    )  # fmt: skip


def _words(told: Sequence[Difference], unit: str) -> str:
    added = [d.added_kg for d in told]
    least, most = in_unit(min(added), unit), in_unit(max(added), unit)
    said = f"{counted(len(told), 'difference')} of {most if least == most else f'{least} to {most}'} {unit}"
    answers = [d.answer for d in told if d.answer is not None]
    if answers:
        worst = min(answers, key=_NOT_MET_FIRST.index)
        limit = min(d.limit_kg for d in told if d.limit_kg is not None)
        answer = "cannot be said to be met" if worst == "cannot say" else worst
        said += f", the ward's limit of {in_unit(limit, unit)} {unit} {answer}"
    return f"{said}; largest error of a difference"


def _difference(point: PointJudgement, by_seq: dict[int, PointJudgement], context: PhaseContext) -> Difference | Flag:
    base = by_seq.get(point.reading.base if point.reading.base is not None else -1)
    if base is None or base.reading.seq >= point.reading.seq or not _only_added(base, point):
        said = f"Reading {point.reading.seq} is not that of its base load, reading {point.reading.base}, with pieces added."
        return Flag("difference-unknown", said)
    added = context.worked.load(tuple(code for code in point.reading.pieces if code not in base.reading.pieces))
    if isinstance(added, Refusal):
        return Flag(added.code, added.sentence, added.facts)
    seen = point.shown_kg - base.shown_kg
    error, budget = seen - added.reference_kg, _budget(base, point, added, context)
    one = Difference(point.reading.seq, base.reading.seq, base.nominal_kg, added.nominal_kg, seen, error, budget)
    if context.clinical is None:
        return one
    limit = context.clinical.limit_at(point.nominal_kg)  # a percentage is one of the weight, not of the difference
    return replace(one, limit_kg=limit, answer=requirement_answer(error, limit, budget.printed))


def _only_added(base: PointJudgement, point: PointJudgement) -> bool:
    """The base load stayed: its pieces are all there, others were added, one unit shows both, and nothing was tared."""
    before, after = base.reading, point.reading
    stayed = set(before.pieces) < set(after.pieces) and before.substitution == after.substitution
    same_display = before.indication.unit == after.indication.unit and before.tare == after.tare
    return bool(before.pieces) and stayed and same_display and base.in_use is not None and point.in_use is not None


def _budget(base: PointJudgement, point: PointJudgement, added: ReferenceLoad, context: PhaseContext) -> Budget:
    parts = [_rounding(base, "base load"), _rounding(point, "load")]
    if context.spread is not None:
        spread = context.spread
        parts.append(
            Contribution(
                "repeatability of both",
                math.sqrt(2) * spread.s_kg,
                "t",
                f"sqrt 2 x s; {spread.source}",
                spread.degrees_of_freedom,
            )  # fmt: skip
        )
    if context.corners is not None and contributions.centre_may_be_off(point.reading.placed):
        parts.append(contributions.eccentricity(context.corners, point.shown_kg - base.shown_kg))
    weights = contributions.of_the_weights(added, context.adjusted_before, context.worked.surroundings)
    return budget_of([*parts, *weights])


def _rounding(point: PointJudgement, where: str) -> Contribution:
    assert point.in_use is not None  # no difference without it
    exact = point.change_over is not None
    make = contributions.change_over_at_load if exact else contributions.rounding_at_load
    return make(point.in_use.d_kg)._replace(name=f"{'change-over' if exact else 'rounding'} at the {where}")
