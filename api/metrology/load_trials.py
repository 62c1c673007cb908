"""The tests of which every reading is judged by itself: zero, loads going up and down, discrimination."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Final

from api.metrology.exact_text import plain
from api.metrology.judgement import Flag, JudgedTest, PointJudgement
from api.metrology.limit_sources import limit_source
from api.metrology.mass import label_of
from api.metrology.phase_context import PhaseContext
from api.metrology.verdict import Verdict, worst
from api.metrology.words_of_tests import amount, counted, largest_error, loads_in_words, reasons_of

# OIML R 76-1:2006 3.6.2.4, from memory: a rolling load is the heaviest usual one, but not above 0.8 of Max.
MOST_ROLLING: Final = Decimal("0.8")


def loads(test: str, points: Sequence[PointJudgement], required: bool, context: PhaseContext) -> JudgedTest:
    """Return a test of loads, the worst of its points; too few increasing loads decide nothing."""
    verdicts: list[Verdict] = [p.verdict for p in points]
    reasons = reasons_of(points)
    if test == "increasing" and (few := _too_few_loads(points, context)):
        verdicts.append("undecided")
        reasons = (*reasons, few)
    words = f"{loads_in_words(points)}; largest error"
    own = next((f"each load has its own tolerance: {p.tolerance.source}" for p in points if p.tolerance), "")
    source = limit_source(test, context.scheme) or own
    return JudgedTest(test, required, worst(verdicts), words, largest_error(points), None, reasons, limit_source=source)


def _too_few_loads(points: Sequence[PointJudgement], context: PhaseContext) -> Flag | None:
    """One load says nothing of those between: the policy asks for a number of them."""
    placed = {p.nominal_kg or p.reading.pieces for p in points}  # pieces stand for a load whose value is not known
    found, least = len([load for load in placed if load]), context.worked.policy.least_loads
    if found >= least:
        return None
    said = f"{counted(found, 'increasing load')} {'was' if found == 1 else 'were'} placed; the policy asks for {least}."
    return Flag("too-few-loads", said, {"found": str(found), "least": str(least)})


def zero(points: Sequence[PointJudgement], required: bool, context: PhaseContext) -> JudgedTest:
    """The reading after the zero key is judged; the untouched one is told, and judged only where it stands alone."""
    after_key = [p for p in points if p.reading.test == "zero set"]
    found = [p for p in points if p.reading.test == "zero found"]
    judged = after_key or found
    told = [f"found untouched at {found[0].reading.indication.shown}"] if found else []
    told.append("error after the zero key" if after_key else "error untouched")
    at_zero = judged[0].tolerance
    return JudgedTest(
        "zero", required, worst(p.verdict for p in judged), "; ".join(told), largest_error(judged),
        at_zero.kg if at_zero else None, reasons_of(judged),
        limit_source=f"the tolerance at no load, {at_zero.counted}: {at_zero.source}" if at_zero else "",
    )  # fmt: skip


def discrimination(points: Sequence[PointJudgement], required: bool, context: PhaseContext) -> JudgedTest:
    """Of several loads the smallest change among those that decide the verdict is shown, beside what it had to be."""
    words = f"1.4 d added at {', '.join(amount(p.nominal_kg, points) for p in points)}; smallest change"
    verdict = worst(p.verdict for p in points)
    seen = [p.change for p in points if p.change is not None and p.verdict == verdict]
    shown = min(seen, key=lambda c: Decimal("Infinity") if c.seen_kg is None else c.seen_kg, default=None)
    if shown is None:
        return JudgedTest("discrimination", required, verdict, words, reasons=reasons_of(points), limit_is="at least")
    return JudgedTest(
        "discrimination", required, verdict, words, shown.seen_kg, shown.required_kg, reasons_of(points),
        "at least", shown.source,
    )  # fmt: skip


def rolling_load(points: Sequence[PointJudgement], required: bool, context: PhaseContext) -> JudgedTest:
    """Return the rolling test: each result within tolerance; a load above 0.8 of Max is told."""
    judged = loads("rolling load", points, required, context)
    tops = {unit: ranges[-1].max_kg for unit, ranges in context.scale.by_unit.items()}
    heavy = [p for p in points if p.in_use is not None and p.nominal_kg > MOST_ROLLING * tops[p.in_use.unit]]
    if not heavy:
        return judged
    most = MOST_ROLLING * tops[heavy[0].reading.indication.unit]
    said = f"A load of {plain(heavy[0].nominal_kg)} kg was rolled on; the rule ends at 0.8 of Max, {plain(most)} kg."
    return judged._replace(reasons=(*judged.reasons, Flag("rolling-load-heavy", said, {"most": f"{plain(most)} kg"})))


def tare(points: Sequence[PointJudgement], required: bool, context: PhaseContext) -> JudgedTest:
    """Return the tare test: net loads, each within the tolerance of the net load."""
    taken = dict.fromkeys(p.reading.tare.shown for p in points if p.reading.tare is not None)
    after = f"net, after a tare of {' and '.join(taken) or 'unknown size'}"
    words = f"{loads_in_words(points)} {after}; largest error"
    judged = loads("tare", points, required, context)
    return judged._replace(words=words)


def unit_switch(points: Sequence[PointJudgement], required: bool, context: PhaseContext) -> JudgedTest:
    """Return the unit test: the loads read in other units too, each result judged in the unit it was read in."""
    units = dict.fromkeys(label_of(p.reading.indication.unit) for p in points)
    judged = loads("unit switch", points, required, context)
    return judged._replace(words=f"{loads_in_words(points)} in {' and '.join(units)}; largest error")


def return_to_zero(points: Sequence[PointJudgement], required: bool, context: PhaseContext) -> JudgedTest:
    """Return the return to zero: the change of zero by each load, the one nearest to or furthest above its limit told."""
    verdict = worst(p.verdict for p in points)
    changes = [p.zero_shift for p in points if p.zero_shift is not None]
    stood = [p.reading.minutes for p in points if p.reading.minutes is not None]
    after = (
        f" after {' and '.join(str(m) for m in dict.fromkeys(stood))} minutes under load"
        if stood
        else " after the load"
    )
    times = "once" if len(points) == 1 else f"{len(points)} times"
    words = f"zero read {times}{after}; largest change"
    if not changes:
        return JudgedTest("return to zero", required, verdict, words, reasons=reasons_of(points))
    told = max(changes, key=lambda c: (abs(c.kg) - c.limit.kg, abs(c.kg)))
    source = f"{told.limit.counted}: {told.limit.source}"
    return JudgedTest(
        "return to zero", required, verdict, words, abs(told.kg), told.limit.kg, reasons_of(points), limit_source=source
    )
