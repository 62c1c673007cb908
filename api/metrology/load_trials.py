"""The tests of which every reading is judged by itself: zero, loads going up and down, discrimination."""

from collections.abc import Sequence

from api.metrology.judgement import Flag, JudgedTest, PointJudgement
from api.metrology.point_judging import PhaseContext
from api.metrology.verdict import Verdict, worst
from api.metrology.words_of_tests import counted, largest_error, loads_in_words, plain, reasons_of


def loads(test: str, points: Sequence[PointJudgement], required: bool, context: PhaseContext) -> JudgedTest:
    """Return a test of loads, the worst of its points; too few increasing loads decide nothing."""
    verdicts: list[Verdict] = [p.verdict for p in points]
    reasons = reasons_of(points)
    if test == "increasing" and (few := _too_few_loads(points, context)):
        verdicts.append("undecided")
        reasons = (*reasons, few)
    words = f"{loads_in_words(points)}; largest error"
    return JudgedTest(test, required, worst(verdicts), words, largest_error(points), None, reasons)


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
    limit = judged[0].tolerance.kg if judged[0].tolerance else None
    verdict = worst(p.verdict for p in judged)
    return JudgedTest("zero", required, verdict, "; ".join(told), largest_error(judged), limit, reasons_of(judged))


def discrimination(points: Sequence[PointJudgement], required: bool, context: PhaseContext) -> JudgedTest:
    """Return the discrimination test: 1.4 d added at each of its loads."""
    placed = ", ".join(plain(p.nominal_kg) for p in points)
    verdict = worst(p.verdict for p in points)
    return JudgedTest("discrimination", required, verdict, f"1.4 d added at {placed} kg", reasons=reasons_of(points))
