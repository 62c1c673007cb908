"""Creep: what the display does while one load stays where it is.

OIML R 76-1:2006 3.9.4.1 and NIST HB 44 section 2.20 T.N.4.5.1, from memory (high confidence), classes II, III and IIII:
in 30 minutes at most 0.5 e, of that from 15 to 30 minutes at most 0.2 e; else in 4 hours at most the tolerance at that
load. The load need not be known, only left alone; where it is known, each result has to be within tolerance as well.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Final

from api.metrology.judgement import Flag, JudgedTest, PointJudgement, TimedChange
from api.metrology.limit_sources import limit_source
from api.metrology.mass import EXACT
from api.metrology.phase_context import PhaseContext
from api.metrology.refusals import NoTableValue
from api.metrology.shift import Shift, hidden_by_rounding
from api.metrology.tolerance import Tolerance
from api.metrology.verdict import Verdict, worst
from api.metrology.words_of_tests import amount, by_load, counted

IN_ALL, LATER = Decimal("0.5"), Decimal("0.2")
QUARTER, HALF_AN_HOUR, FOUR_HOURS = 15, 30, 240
CLASSES: Final = ("II", "III", "IIII")
_OVER: Final = ("fail", "conditional fail")


@dataclass(frozen=True, slots=True)
class Creep:
    """The changes of one load: within half an hour, in its second half, and within four hours where that was waited."""

    load_kg: Decimal
    verdict: Verdict
    largest_kg: Decimal
    limit_kg: Decimal | None
    reasons: tuple[Flag, ...]
    changes: tuple[TimedChange, ...] = ()


def creep(points: Sequence[PointJudgement], required: bool, context: PhaseContext) -> JudgedTest:
    """Return the creep test: the worst of its loads; a result out of tolerance is a fail here too."""
    told = [_of_one_load(group, context) for group in by_load(points)]
    verdicts = [one.verdict for one in told] + [p.verdict for p in points if p.verdict in _OVER]
    shown = max(told, key=lambda one: one.largest_kg)
    loads = " and ".join(dict.fromkeys(amount(one.load_kg, points) for one in told))
    reasons = {reason.code: reason for one in told for reason in one.reasons}
    words = f"{counted(len(points), 'reading')} of {loads} left alone; largest change"
    return JudgedTest(
        "creep", required, worst(verdicts), words, shown.largest_kg, shown.limit_kg, tuple(reasons.values()),
        changes=tuple(change for one in told for change in one.changes),
    )  # fmt: skip


def _of_one_load(points: Sequence[PointJudgement], context: PhaseContext) -> Creep:
    timed = sorted((p for p in points if p.reading.minutes is not None), key=_minutes)
    load, in_use = points[0].nominal_kg, points[0].in_use
    if context.scale.accuracy_class not in (*CLASSES, "none"):
        no_row = f"There is no creep limit for class {context.scale.accuracy_class!r}."
        return Creep(load, "undecided", Decimal(0), None, (Flag(NoTableValue.code, no_row),))
    if in_use is None or not timed or _minutes(timed[0]) != 0:
        return Creep(load, "undecided", Decimal(0), None, (_incomplete(),))
    early = [_change(timed[0], p, IN_ALL, context) for p in timed[1:] if _minutes(p) <= HALF_AN_HOUR]
    late = _from_quarter_to_half(timed, context)
    if late is None:
        return _by_four_hours(timed, context, _incomplete())
    verdict = worst(change.shift.verdict for change in (*early, late))
    if verdict == "pass":
        largest = max(abs(change.shift.kg) for change in early)
        return Creep(load, "pass", largest, early[0].shift.limit.kg, (), (*early, late))
    return _by_four_hours(timed, context, _longer() if verdict == "fail" else _rounding())


def _minutes(point: PointJudgement) -> int:
    return point.reading.minutes or 0


def _change(first: PointJudgement, then: PointJudgement, count: Decimal, context: PhaseContext) -> TimedChange:
    in_use = then.in_use
    assert in_use is not None  # a load without a range was left out before
    limit = Tolerance(EXACT.multiply(count, in_use.e_kg), f"{count:f} e", limit_source("creep", context.scheme))
    plain_readings = (first.change_over is None) + (then.change_over is None)
    hidden = hidden_by_rounding(context.scheme, in_use, plain_readings)
    return TimedChange(
        first.nominal_kg, _minutes(first), _minutes(then), Shift(first.shown_kg, then.shown_kg, limit, hidden)
    )


def _from_quarter_to_half(timed: Sequence[PointJudgement], context: PhaseContext) -> TimedChange | None:
    """The change of the second quarter of an hour; None where a reading at 15 or at 30 minutes is missing."""
    at = {_minutes(p): p for p in timed}
    if QUARTER not in at or HALF_AN_HOUR not in at:
        return None
    return _change(at[QUARTER], at[HALF_AN_HOUR], LATER, context)


def _by_four_hours(timed: Sequence[PointJudgement], context: PhaseContext, otherwise: Flag) -> Creep:
    """The other way to pass: in four hours no more than the tolerance. A change beyond the tolerance fails at once."""
    first, load = timed[0], timed[0].nominal_kg
    changes = tuple(_change(first, p, IN_ALL, context) for p in timed[1:])
    largest = max((abs(change.shift.kg) for change in changes), default=Decimal(0))
    if first.tolerance is None:
        return Creep(load, "undecided", largest, None, (otherwise,), changes)
    told = tuple(replace(change, shift=replace(change.shift, limit=first.tolerance)) for change in changes)
    verdict = worst(change.shift.verdict for change in told)
    if verdict == "fail" or (verdict == "pass" and _minutes(timed[-1]) >= FOUR_HOURS):
        return Creep(load, verdict, largest, first.tolerance.kg, (), told)
    return Creep(load, "undecided", largest, None, (otherwise,), changes)


def _incomplete() -> Flag:
    said = "Creep needs readings with their minutes: when the load was placed (0), at 15 and at 30 minutes."
    return Flag("creep-incomplete", said)


def _longer() -> Flag:
    said = (
        "It changed by more than 0.5 e in 30 minutes, or by more than 0.2 e from 15 to 30: readings over 4 hours, within "
        "the tolerance at that load, would decide it."
    )
    return Flag("creep-four-hours", said)


def _rounding() -> Flag:
    said = "The rounding of the display is as large as the limits of creep: change-over points would decide it."
    return Flag("rounding-undecided", said)
