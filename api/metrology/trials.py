"""The tests of one phase, each with its own rule: points become tests, tests become the phase's verdict.

Overall is the worst of the required tests; a required test that is missing counts as undecided, and any other test that
was done and failed counts too (a house rule: what was seen is not forgotten).
"""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

from api.metrology.eccentricity import missing_positions, range_of_positions, too_light
from api.metrology.judgement import Flag, JudgedTest, PointJudgement, flag_of
from api.metrology.point_judging import PhaseContext
from api.metrology.policy import TEST_OF
from api.metrology.refusals import Refusal
from api.metrology.repeatability import range_of
from api.metrology.verdict import Verdict, worst

ORDER = ("zero", "first loading", "increasing", "decreasing", "eccentricity", "repeatability", "discrimination")


def judge_tests(
    points: Sequence[PointJudgement], required: Sequence[str], context: PhaseContext
) -> tuple[JudgedTest, ...]:
    """Return every test that was done or is required, in the trade's order."""
    done: dict[str, list[PointJudgement]] = defaultdict(list)
    for point in points:
        done[TEST_OF[point.reading.test]].append(point)
    return tuple(
        _judged(test, done[test], test in required, context) for test in ORDER if done[test] or test in required
    )


def verdict_of(tests: Sequence[JudgedTest]) -> Verdict:
    """Return the verdict of a phase: the worst of the required tests, and of any other test that failed."""
    counted = [test.verdict if test.verdict != "not tested" else "undecided" for test in tests if test.required]
    counted += [test.verdict for test in tests if not test.required and test.verdict in ("fail", "conditional fail")]
    return worst(counted) if counted else "not tested"


def _judged(test: str, points: Sequence[PointJudgement], required: bool, context: PhaseContext) -> JudgedTest:
    if not points:
        missing = Flag("test-missing", f"The policy requires {test}; it was not done.", {"test": test})
        return JudgedTest(test, required, "not tested", "not done", reasons=(missing,))
    if test == "eccentricity":
        return _eccentricity(points, required, context)
    if test == "repeatability":
        return _repeatability(points, required, context)
    if test == "discrimination":
        return _discrimination(points, required)
    if test == "zero":
        return _zero(points, required)
    verdicts: list[Verdict] = [p.verdict for p in points]
    reasons = _reasons_of(points)
    if test == "increasing" and (few := _too_few_loads(points, context)):
        verdicts.append("undecided")
        reasons = (*reasons, few)
    largest = max((abs(p.error_kg) for p in points if p.error_kg is not None), default=None)
    return JudgedTest(test, required, worst(verdicts), _loads_in_words(points), largest, None, reasons)


def _too_few_loads(points: Sequence[PointJudgement], context: PhaseContext) -> Flag | None:
    """One load says nothing of those between: the policy asks for a number of them."""
    placed = {p.nominal_kg or p.reading.pieces for p in points}  # pieces stand for a load whose value is not known
    loads, least = [load for load in placed if load], context.worked.policy.least_loads
    if len(loads) >= least:
        return None
    said = f"{len(loads)} increasing load{'s were' if len(loads) != 1 else ' was'} placed; the policy asks for {least}."
    return Flag("too-few-loads", said, {"found": str(len(loads)), "least": str(least)})


def _loads_in_words(points: Sequence[PointJudgement]) -> str:
    loads = [p.nominal_kg for p in points]
    counted = f"{len(points)} load{'s' if len(points) > 1 else ''}"
    spread = _plain(max(loads)) if min(loads) == max(loads) else f"{_plain(min(loads))} to {_plain(max(loads))}"
    return f"{counted}, {spread} kg; largest error"


def _plain(value: Decimal) -> str:
    return f"{value.normalize():f}"


def _reasons_of(points: Sequence[PointJudgement]) -> tuple[Flag, ...]:
    seen = {reason.code: reason for point in points for reason in point.reasons}
    return tuple(seen.values())


def _zero(points: Sequence[PointJudgement], required: bool) -> JudgedTest:
    """The reading after the zero key is judged; the untouched one is told, and judged only where it stands alone."""
    after_key = [p for p in points if p.reading.test == "zero set"]
    found = [p for p in points if p.reading.test == "zero found"]
    judged = after_key or found
    told = [f"found untouched at {found[0].reading.indication.shown}"] if found else []
    told.append("error after the zero key" if after_key else "error untouched")
    largest = max((abs(p.error_kg) for p in judged if p.error_kg is not None), default=None)
    limit = judged[0].tolerance.kg if judged[0].tolerance else None
    return JudgedTest(
        "zero", required, worst(p.verdict for p in judged), "; ".join(told), largest, limit, _reasons_of(judged)
    )


def _range_limit(points: Sequence[PointJudgement], context: PhaseContext) -> Decimal | None:
    """Return the limit of a range of results, or None where a point has no tolerance.

    HB 44 limits ranges by the maintenance tolerance (T.N.4.4, T.N.5), whatever tolerance applies to the results.
    """
    limits = [p.tolerance.kg for p in points if p.tolerance is not None]
    if len(limits) < len(points):
        return None
    # acceptance is one half of maintenance (T.N.3.2)
    return min(limits) * 2 if context.scheme.stage == "acceptance" else min(limits)


def _eccentricity(points: Sequence[PointJudgement], required: bool, context: PhaseContext) -> JudgedTest:
    sets = _by_load(points)
    main = max(sets, key=lambda placed: (len({p.reading.position for p in placed}), placed[0].nominal_kg))
    judged = _combined([_places_of_one_load(placed, required, context) for placed in sets])
    lacking = missing_positions(main)
    said = [flag for flag in (lacking, too_light(main, context.scale, context.worked.policy)) if flag is not None]
    verdict = worst((judged.verdict, "undecided")) if lacking else judged.verdict
    return replace(judged, verdict=verdict, reasons=(*judged.reasons, *said))


def _by_load(points: Sequence[PointJudgement]) -> list[list[PointJudgement]]:
    """Only results of one load in one unit can be compared: a chair's seat and its armrests carry different loads."""
    sets: dict[tuple[Decimal, str], list[PointJudgement]] = defaultdict(list)
    for point in points:
        sets[point.nominal_kg, point.reading.indication.unit].append(point)
    return list(sets.values())


def _combined(sets: Sequence[JudgedTest]) -> JudgedTest:
    """Return the worst of several sets with the words and reasons of all."""
    overall = worst(s.verdict for s in sets)
    shown = max((s for s in sets if s.verdict == overall), key=lambda s: s.measured_kg or 0)
    reasons = {reason.code: reason for judged in sets for reason in judged.reasons}
    return replace(shown, words="; ".join(s.words for s in sets), reasons=tuple(reasons.values()))


def _places_of_one_load(points: Sequence[PointJudgement], required: bool, context: PhaseContext) -> JudgedTest:
    words = f"{len(points)} place{'s' if len(points) > 1 else ''} at {_plain(points[0].nominal_kg)} kg; range"
    spread = range_of_positions(points)
    limit = _range_limit(points, context) if context.scheme.name == "hb44" else None
    return _range_judged("eccentricity", required, points, words, spread, limit)


def _range_judged(
    test: str,
    required: bool,
    points: Sequence[PointJudgement],
    words: str,
    spread: Decimal,
    limit: Decimal | None,
) -> JudgedTest:
    """Return the worst of the points and, where there is a limit for it, of their range."""
    verdicts: list[Verdict] = [p.verdict for p in points]
    if limit is not None:
        verdicts.append("pass" if spread <= limit else "fail")
    return JudgedTest(test, required, worst(verdicts), words, spread, limit, _reasons_of(points))


def _repeatability(points: Sequence[PointJudgement], required: bool, context: PhaseContext) -> JudgedTest:
    return _combined([_one_load(group, required, context) for group in _by_load(points)])


def _one_load(points: Sequence[PointJudgement], required: bool, context: PhaseContext) -> JudgedTest:
    words = f"{len(points)} weighing{'s' if len(points) > 1 else ''} of {_plain(points[0].nominal_kg)} kg; range"
    try:
        spread = range_of([p.shown_kg for p in points])
    except Refusal as refusal:
        verdict = worst([*[p.verdict for p in points], "undecided"])
        reasons = (*_reasons_of(points), flag_of(refusal))
        return JudgedTest("repeatability", required, verdict, words, reasons=reasons)
    return _range_judged("repeatability", required, points, words, spread, _range_limit(points, context))


def _discrimination(points: Sequence[PointJudgement], required: bool) -> JudgedTest:
    loads = ", ".join(_plain(p.nominal_kg) for p in points)
    verdict = worst(p.verdict for p in points)
    return JudgedTest("discrimination", required, verdict, f"1.4 d added at {loads} kg", reasons=_reasons_of(points))
