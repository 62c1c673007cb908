"""The tests that compare results of one load with each other: eccentricity and repeatability."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Final

from api.metrology.eccentricity import missing_positions, range_of_positions, too_heavy, too_light
from api.metrology.judgement import JudgedTest, OneLoad, PointJudgement, flag_of
from api.metrology.minimum_weight import USP_LEAST_IN_DIVISIONS
from api.metrology.phase_context import PhaseContext
from api.metrology.range_limits import RangeTest, range_limit, range_rule
from api.metrology.refusals import Refusal
from api.metrology.repeatability import LEAST_READINGS, Spread, range_of
from api.metrology.rounding import printed_uncertainty
from api.metrology.verdict import Verdict, worst
from api.metrology.words_of_tests import amount, by_load, counted, reasons_of

RANGE: Final = "; range"


def eccentricity(points: Sequence[PointJudgement], required: bool, context: PhaseContext) -> JudgedTest:
    """Return the eccentricity test: each place within tolerance, and under HB 44 the range of the places too."""
    sets = by_load(points)
    main = max(sets, key=lambda placed: (len({p.reading.position for p in placed}), placed[0].nominal_kg))
    judged = _combined([_places_of_one_load(placed, required, context) for placed in sets])
    lacking = missing_positions(main)
    light = too_light(main, context.scale, context.worked.policy)
    heavy = too_heavy(main, context.scale, context.scheme)
    said = [flag for flag in (lacking, light, heavy) if flag is not None]
    if not said:
        return judged
    verdict = worst((judged.verdict, "undecided")) if lacking else judged.verdict
    return judged._replace(verdict=verdict, reasons=(*judged.reasons, *said))


def _places_of_one_load(points: Sequence[PointJudgement], required: bool, context: PhaseContext) -> JudgedTest:
    words = f"{counted(len(points), 'place')} at {amount(points[0].nominal_kg, points)}{RANGE}"
    return _range_judged("eccentricity", required, points, words, range_of_positions(points), context)


def repeatability(points: Sequence[PointJudgement], required: bool, context: PhaseContext) -> JudgedTest:
    """Return the repeatability test: the range of the weighings of each load, and each within tolerance."""
    groups = by_load(points)
    judged = _combined([_one_load(group, required, context) for group in groups])
    if context.spread is None or all(len(group) < LEAST_READINGS for group in groups):
        return judged
    return judged._replace(words=f"{_spread_words(context.spread, points, len(groups))}; {judged.words}")


def _spread_words(spread: Spread, points: Sequence[PointJudgement], loads: int) -> str:
    """The pooled s of a single reading; where the display's rounding alone would leave as much, that is said.

    Two roundings leave sqrt(1/6) = 0.41 d (computed; the same number as in USP general chapter 41): an s below it tells
    nothing of the scale.
    """
    pooled = " pooled" if loads > 1 else ""
    said = (
        f"standard deviation s = {amount(printed_uncertainty(spread.s_kg), points)}{pooled}, "
        f"{spread.degrees_of_freedom:.0f} degrees of freedom"
    )
    finest = min((p.in_use.d_kg for p in points if p.in_use is not None), default=Decimal(0))
    least = USP_LEAST_IN_DIVISIONS * finest
    if spread.s_kg >= float(least):
        return said
    return f"{said}, which rounding hides (0.41 d = {amount(least, points)})"


def _one_load(points: Sequence[PointJudgement], required: bool, context: PhaseContext) -> JudgedTest:
    words = f"{counted(len(points), 'weighing')} of {amount(points[0].nominal_kg, points)}{RANGE}"
    try:
        spread = range_of([p.shown_kg for p in points])
    except Refusal as refusal:
        verdict = worst([*[p.verdict for p in points], "undecided"])
        reasons = (*reasons_of(points), flag_of(refusal))
        return JudgedTest(
            "repeatability", required, verdict, words, reasons=reasons,
            limit_source=range_rule("repeatability", context.scheme),
        )  # fmt: skip
    return _range_judged("repeatability", required, points, words, spread, context)


def _combined(sets: Sequence[JudgedTest]) -> JudgedTest:
    """Return the worst of several sets with the words and reasons of all."""
    if len(sets) == 1:
        return sets[0]
    overall = worst(s.verdict for s in sets)
    shown = max((s for s in sets if s.verdict == overall), key=lambda s: s.measured_kg or 0)
    reasons = {reason.code: reason for judged in sets for reason in judged.reasons}
    return shown._replace(
        words=f"{' and '.join(s.words.removesuffix(RANGE) for s in sets)}{RANGE}", reasons=tuple(reasons.values()),
        loads=tuple(load for judged in sets for load in judged.loads),
    )  # fmt: skip


def _range_judged(
    test: RangeTest,
    required: bool,
    points: Sequence[PointJudgement],
    words: str,
    spread: Decimal,
    context: PhaseContext,
) -> JudgedTest:
    """Return the worst of the points and, where there is a limit for it, of their range."""
    limit, counted_in = range_limit(test, [p.tolerance for p in points], context.scheme)
    verdicts: list[Verdict] = [p.verdict for p in points]
    if limit is not None:
        verdicts.append("pass" if spread <= limit else "fail")
    verdict, shown = worst(verdicts), [p.shown_kg for p in points]
    load = OneLoad(points[0].nominal_kg, len(points), min(shown), max(shown), limit, counted_in, verdict)
    return JudgedTest(
        test, required, verdict, words, spread, limit, reasons_of(points),
        limit_source=range_rule(test, context.scheme), loads=(load,),
    )  # fmt: skip
