"""A check in service: one known load on a scale, judged as a reading of a calibration is, and speaking for itself alone.

The tolerance is that of a scale in use (NIST HB 44 T.N.2 maintenance, OIML R 76-1 3.5.2 in service, or the house rule). It
proves no range, whatever it says: a single load says nothing of any other load or place.
"""

import math
from dataclasses import dataclass
from decimal import Decimal, localcontext

from api.metrology.decision import rule_of
from api.metrology.judgement import Judgement, PhaseJudgement, flag_of
from api.metrology.judging import PLAIN_REASONS, Case
from api.metrology.mass import EXACT, Mass
from api.metrology.phase_context import PhaseContext, Worked
from api.metrology.point_judging import judge_point
from api.metrology.readings import Reading
from api.metrology.refusals import BadRule
from api.metrology.terms import Line
from api.metrology.tolerance import STAGES, scheme
from api.metrology.weights import SHARE_OF_AIR, ReferenceLoad

SPEAKS_FOR = "A check in service: it speaks for this load at this place only, and proves no range."
# Under which a load that the ward knows itself stands among the pieces of a reading; no code of the register has a bracket.
OF_THE_WARD = "(the ward's own)"


@dataclass(frozen=True, slots=True)
class KnownLoad:
    """A load that the ward knows itself: its value, the most it may be off, and what it is."""

    mass: Mass
    off_by_at_most: Mass
    described: Line


def judge_check(case: Case, known: KnownLoad | None) -> Judgement:
    """Return the judgement of a check: its one reading as found, in kilograms, without required tests or a proven range.

    The reading is the only one of the case's submission; a load that the ward knows itself stands in it as `OF_THE_WARD`.
    Refusals become reasons and flags, never exceptions.
    """
    phase = case.submission.as_found
    assert phase is not None, "a check has its one reading as found"
    with localcontext(EXACT):
        try:
            found = _judged(case, phase.readings[0], known)
        except BadRule as refusal:  # no tolerance to judge by
            return Judgement(None, None, "nothing", False, None, (), (flag_of(refusal),), ())
    pieces = tuple(case.pieces[code] for code in phase.readings[0].pieces if code in case.pieces)
    flags = tuple(reason for reason in found.points[0].reasons if reason.code not in PLAIN_REASONS)
    return Judgement(found, None, "nothing", False, None, pieces, flags, (), case.policy)


def _judged(case: Case, reading: Reading, known: KnownLoad | None) -> PhaseJudgement:
    in_use = STAGES[case.scheme_name][0]  # the first stage of each scheme is the one of a scale in use
    chosen = scheme(case.scheme_name, in_use, case.edition, case.house)
    rule = rule_of(case.policy)
    worked = Worked(case.pieces, case.policy)
    if known is not None:
        worked.loads[reading.pieces] = load_of_the_ward(known)
        worked.nominals[reading.pieces] = known.mass.kg
    context = PhaseContext(case.scale, chosen, rule, worked, case.registered_spread, None, adjusted_before=False)
    point = judge_point(reading, context)
    reasons = tuple(reason.sentence for reason in point.reasons)
    return PhaseJudgement(chosen, rule, (point,), (), point.verdict, reasons, None, SPEAKS_FOR)


def load_of_the_ward(known: KnownLoad) -> ReferenceLoad:
    """Return a load that the ward knows itself as a reference: its value, and a rectangular share for what it may be off.

    The most it may be off stands for its drift too (JCGM 100:2008 4.3.7: bounds alone are known, so u = a / sqrt 3).
    """
    kg, bound = known.mass.kg, known.off_by_at_most.kg
    u = float(bound) / math.sqrt(3)
    adjusted = u / 4
    return ReferenceLoad(
        (OF_THE_WARD,), kg, kg, u, 0.0, SHARE_OF_AIR * float(kg) / math.sqrt(3) + adjusted, adjusted, bound,
        f"as the ward states it: {known.described}", bound, Decimal(0), by_certificate=False,
    )  # fmt: skip
