"""The tests of one phase, each with its own rule: points become tests, tests become the phase's verdict.

Overall is the worst of the required tests; a required test that is missing counts as undecided, and any other test that
was done and failed counts too (a house rule: what was seen is not forgotten).
"""

from collections import defaultdict
from collections.abc import Callable, Sequence

from api.metrology import load_trials, range_trials
from api.metrology.creep import creep
from api.metrology.difference_trial import difference
from api.metrology.hysteresis import Hysteresis
from api.metrology.judgement import Flag, JudgedTest, PointJudgement
from api.metrology.limit_sources import limit_source
from api.metrology.phase_context import PhaseContext
from api.metrology.policy import TEST_OF
from api.metrology.verdict import Verdict, worst

ORDER = (
    "zero", "first loading", "increasing", "decreasing", "return to zero", "eccentricity", "rolling load",
    "repeatability", "discrimination", "creep", "tare", "difference", "unit switch", "power cycle",
)  # fmt: skip
# The tests with a rule of their own; of the others each reading is judged by its tolerance.
_RULES: dict[str, Callable[[Sequence[PointJudgement], bool, PhaseContext], JudgedTest]] = {
    "zero": load_trials.zero,
    "discrimination": load_trials.discrimination,
    "eccentricity": range_trials.eccentricity,
    "repeatability": range_trials.repeatability,
    "return to zero": load_trials.return_to_zero,
    "creep": creep,
    "rolling load": load_trials.rolling_load,
    "tare": load_trials.tare,
    "difference": difference,
    "unit switch": load_trials.unit_switch,
}


def judge_tests(
    points: Sequence[PointJudgement],
    required: Sequence[str],
    context: PhaseContext,
    hysteresis: Hysteresis | None,
) -> tuple[JudgedTest, ...]:
    """Return every test that was done or is required, in the trade's order; the way down is told with the hysteresis."""
    done: dict[str, list[PointJudgement]] = defaultdict(list)
    for point in points:
        done[TEST_OF[point.reading.test]].append(point)
    tests = [_judged(test, done[test], test in required, context) for test in ORDER if done[test] or test in required]
    if done["increasing"] and done["decreasing"]:
        tests = _with_hysteresis(tests, hysteresis)
    return tuple(tests)


def _with_hysteresis(tests: Sequence[JudgedTest], found: Hysteresis | None) -> list[JudgedTest]:
    """The way down is told with the difference to the way up; the tolerance alone judges both."""
    if found is None:
        return list(tests)
    told = f"{found.words}; largest error"
    return [t._replace(words=t.words.replace("largest error", told)) if t.test == "decreasing" else t for t in tests]


def verdict_of(tests: Sequence[JudgedTest]) -> Verdict:
    """Return the verdict of a phase: the worst of the required tests, and of any other test that failed."""
    counted = [test.verdict if test.verdict != "not tested" else "undecided" for test in tests if test.required]
    counted += [test.verdict for test in tests if not test.required and test.verdict in ("fail", "conditional fail")]
    return worst(counted) if counted else "not tested"


def _judged(test: str, points: Sequence[PointJudgement], required: bool, context: PhaseContext) -> JudgedTest:
    if not points:
        missing = Flag("test-missing", f"The policy requires {test}; it was not done.", {"test": test})
        return JudgedTest(test, required, "not tested", "not done", reasons=(missing,))
    rule = _RULES.get(test)
    judged = rule(points, required, context) if rule else load_trials.loads(test, points, required, context)
    if judged.limit_source or not (source := limit_source(test, context.scheme)):
        return judged
    return judged._replace(limit_source=source)
