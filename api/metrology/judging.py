"""A visit judged: as found, as left, the tests, the flags. Everything it needs arrives as arguments."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal, localcontext

from api.metrology.adjustment import judge_span
from api.metrology.change_over import exact_indication
from api.metrology.clinical import clinical_statement
from api.metrology.clinical_need import ClinicalNeed
from api.metrology.contributions import Corners
from api.metrology.convection import warmth_of
from api.metrology.decision import rule_of
from api.metrology.eccentricity import corners_of
from api.metrology.hysteresis_found import largest_hysteresis
from api.metrology.judgement import (
    Flag,
    JudgedTest,
    Judgement,
    PhaseJudgement,
    PointJudgement,
    RestsOn,
    SpanLoad,
    flag_of,
)  # fmt: skip
from api.metrology.mass import EXACT
from api.metrology.measured_air import measured_air
from api.metrology.minimum_weight_found import minimum_weight_found
from api.metrology.phase_context import PhaseContext, Worked, readings_led_back_to, zeros_taken
from api.metrology.point_judging import judge_point
from api.metrology.policy import Policy
from api.metrology.proven_range import proven_range
from api.metrology.readings import Phase, Reading
from api.metrology.refusals import BadRule, Refusal
from api.metrology.repeatability import LEAST_READINGS, Repeats, Spread, pooled_spread
from api.metrology.scale import Range, Scale, display_range, least_load_proven
from api.metrology.submission import Submission
from api.metrology.terms import SchemeName
from api.metrology.tolerance import HouseTolerance, Stage, scheme
from api.metrology.trials import judge_tests, verdict_of
from api.metrology.visit_checks import flags_of_visit, notes_of_visit
from api.metrology.weights import Piece
from api.metrology.weights_in_air import Surroundings


@dataclass(frozen=True, slots=True)
class Case:
    """One visit with all it is judged against: the scale, its tolerance, the pieces of that day, the policy."""

    submission: Submission
    scale: Scale
    scheme_name: SchemeName
    edition: str | None
    house: HouseTolerance | None
    pieces: Mapping[str, Piece]
    policy: Policy
    heaviest_load_used_kg: Decimal | None = None
    registered_spread: Spread | None = None
    unit_lock_required: bool = True
    clinical: ClinicalNeed | None = None
    height_m: Decimal | None = None


# As found: maintenance or in-service, unless it is new; as left after a change: acceptance or initial (design decision;
# HB 44 G-T.1 and G-T.2, R 76-1 3.5.1 and 3.5.2; for a hospital a house policy).
_STAGES: dict[tuple[str, bool], Stage] = {
    ("hb44", False): "maintenance", ("hb44", True): "acceptance",
    ("r76", False): "in-service", ("r76", True): "initial",
    ("house", False): "house", ("house", True): "house",
}  # fmt: skip


def judge(case: Case) -> Judgement:
    """Return the judgement of a visit, exact errors in kilograms. Refusals become reasons and flags, never exceptions."""
    with localcontext(EXACT):
        try:
            return _judge(case)
        except BadRule as refusal:  # no tolerance to judge by
            return Judgement(
                None, None, "nothing", bool(case.submission.adjustments), None, (), (flag_of(refusal),), ()
            )


def _judge(case: Case) -> Judgement:
    sent = case.submission
    adjusted = bool(sent.adjustments)
    span, span_flags = judge_span(sent.adjustments, case.scale, case.pieces, case.policy)
    worked = Worked(case.pieces, case.policy, _surroundings(case))
    behaviour = _behaviour_of(case, worked)
    found = None
    if sent.as_found:
        found = _judge_phase(case, worked, sent.as_found, _new_as_found(sent), behaviour["as_found"], None, ())
    left, rests_on = _as_left(case, worked, found, span, behaviour["as_left"])
    used = sent.pieces_used
    flags = (*_point_flags(sent, found, left), *span_flags, *flags_of_visit(sent, case.scale, adjusted, len(used)))
    pieces = tuple(case.pieces[code] for code in used if code in case.pieces)
    return Judgement(
        found, left, rests_on, adjusted, span, pieces, tuple(flags),
        notes_of_visit(sent, case.scale, found, left, case.unit_lock_required), case.policy, worked.shares,
        worked.surroundings.air,
    )  # fmt: skip


def _surroundings(case: Case) -> Surroundings:
    """The air once for a visit; how warm the weights were matters on a balance only."""
    environment = case.submission.environment
    warmth = warmth_of(environment) if case.scale.is_balance else None
    return Surroundings(measured_air(environment, case.height_m), warmth)


@dataclass(frozen=True, slots=True)
class Behaviour:
    """How the scale repeats and how its corners differ, as far as it is known for a phase."""

    spread: Spread | None
    corners: Corners | None


def _behaviour_of(case: Case, worked: Worked) -> dict[str, Behaviour]:
    """A phase's own repeatability and corners, else the other phase's of the same visit, else the register's value."""
    sent, scale = case.submission, case.scale
    phases = {"as_found": sent.as_found, "as_left": sent.as_left}
    spreads = {name: _spread_of(phase, scale, worked) for name, phase in phases.items() if phase}
    corners = {name: _corners_of(phase, worked, scale) for name, phase in phases.items() if phase}
    any_spread = next((s for s in spreads.values() if s), case.registered_spread)
    any_corners = next((c for c in corners.values() if c), None)
    return {name: Behaviour(spreads.get(name) or any_spread, corners.get(name) or any_corners) for name in phases}


def _new_as_found(sent: Submission) -> bool:
    """A scale not yet in service, or one back from repair and not touched since, is judged as new (HB 44 G-T.1)."""
    return sent.purpose == "initial" or (sent.purpose == "after repair" and not sent.adjustments)


def _as_left(
    case: Case, worked: Worked, found: PhaseJudgement | None, span: SpanLoad | None, behaviour: Behaviour
) -> tuple[PhaseJudgement | None, RestsOn]:
    sent = case.submission
    adjusted = bool(sent.adjustments)
    if sent.as_left is None:
        return (found, "as found: nothing was adjusted") if found and not adjusted else (None, "nothing")
    changed = adjusted or sent.purpose in ("after repair", "initial")
    return _judge_phase(case, worked, sent.as_left, changed, behaviour, span, _to_repeat(sent, found)), "own readings"


def _to_repeat(sent: Submission, found: PhaseJudgement | None) -> tuple[str, ...]:
    """After a repair or corner work every required test is repeated; else what did not pass as found.

    A test that was not required and failed is repeated too: what was seen is not forgotten.
    """
    if found is None:
        return ()
    everything = sent.purpose == "after repair" or any(a.type in ("repair part", "corner") for a in sent.adjustments)
    required = [t.test for t in found.tests if t.required and (everything or t.verdict != "pass")]
    # A first loading is the first only once.
    failed = [t.test for t in found.tests if t.verdict in ("fail", "conditional fail") and t.test != "first loading"]
    return tuple(dict.fromkeys((*required, *failed)))


def _judge_phase(
    case: Case,
    worked: Worked,
    phase: Phase,
    changed: bool,
    behaviour: Behaviour,
    span: SpanLoad | None,
    repeat: Sequence[str],
) -> PhaseJudgement:
    chosen = scheme(case.scheme_name, _STAGES[case.scheme_name, changed], case.edition, case.house)
    rule = rule_of(case.policy)
    readings = [r for r in phase.readings if r.excluded is None]
    context = PhaseContext(
        case.scale, chosen, rule, worked, behaviour.spread, behaviour.corners, adjusted_before=span is not None,
        zeros=zeros_taken(readings, case.scale, worked), by_seq=readings_led_back_to(readings),
        clinical=case.clinical,
    )  # fmt: skip
    points = tuple(judge_point(reading, context) for reading in readings)
    hysteresis = largest_hysteresis(points)
    tests = judge_tests(points, _required(case, phase is case.submission.as_left, repeat), context, hysteresis)
    proven, words = proven_range(points, tests, _least(case), _cap(case, span))
    reasons = tuple(dict.fromkeys(reason.sentence for test in tests for reason in test.reasons))
    clinical = clinical_statement(points, case.clinical, case.heaviest_load_used_kg)
    return PhaseJudgement(
        chosen, rule, points, tests, verdict_of(tests), reasons, proven, words, clinical,
        minimum_weight_found(points, case.scale), hysteresis,
    )  # fmt: skip


def _required(case: Case, as_left: bool, repeat: Sequence[str]) -> tuple[str, ...]:
    """The tests a phase needs. As left with no as found to lean on, the full list holds."""
    leaning = as_left and case.submission.as_found is not None
    listed = case.policy.required_as_left if leaning else case.policy.required_as_found
    exempt = {e.test for e in case.policy.exempt if e.kind == case.scale.kind}
    return tuple(t for t in dict.fromkeys((*listed, *repeat)) if t not in exempt)


def _least(case: Case) -> Decimal:
    """Min, the larger where the units of one scale are marked differently."""
    return max(least_load_proven(case.scale, r.unit) for r in case.scale.ranges)


def _cap(case: Case, span: SpanLoad | None) -> Decimal | None:
    """Adjusted below half the capacity, or below the heaviest load used, the span load is as far as the result goes."""
    if span is None:
        return None
    too_light = not span.heavy_enough
    used = case.heaviest_load_used_kg
    return span.load_kg if too_light or (used is not None and span.load_kg < used) else None


def _corners_of(phase: Phase, worked: Worked, scale: Scale) -> Corners | None:
    placed = [r for r in phase.readings if r.test == "eccentricity" and _by_pieces(r)]
    return corners_of([(r.position or "", worked.nominal(r), _before_rounding(r, scale)) for r in placed])


def _before_rounding(reading: Reading, scale: Scale) -> Decimal:
    """What a reading says in kilograms; a change-over point that cannot be one says no more than the display."""
    try:
        return exact_indication(reading, scale)
    except Refusal:
        return reading.indication.kg


def _by_pieces(reading: Reading) -> bool:
    """A load on a substitute load is not the load its pieces say: how it behaves is not read from it."""
    return reading.excluded is None and reading.substitution is None


def _spread_of(phase: Phase, scale: Scale, worked: Worked) -> Spread | None:
    """Return the s pooled over the loads weighed often enough, or None where there is none (the tests say why)."""
    groups: dict[tuple[Decimal, str], list[Reading]] = defaultdict(list)
    for reading in phase.readings:
        if reading.test == "repeatability" and _by_pieces(reading):
            groups[worked.nominal(reading), reading.indication.unit].append(reading)
    enough = [group for group in groups.values() if len(group) >= LEAST_READINGS]
    try:
        return pooled_spread([_repeats(group, scale) for group in enough]) if enough else None
    except Refusal:
        return None


def _repeats(group: Sequence[Reading], scale: Scale) -> Repeats:
    """Where the values lie on both sides of a partial Max, the finer division counts them.

    Change-over points are counted in hundredths of a division: the small weights come in tenths and may be halved.
    """
    shown = [r.indication for r in group]
    finest = _finest_range(group, scale)
    if all(r.change_over_added for r in group):
        hundredth = finest.d_kg / 100
        return Repeats(tuple(exact_indication(r, scale) for r in group), hundredth, hundredth)
    return Repeats(tuple(i.value for i in shown), finest.d, finest.d_kg)


def _finest_range(group: Sequence[Reading], scale: Scale) -> Range:
    ranges = scale.ranges_in(group[0].indication.unit)  # a group is read in one unit
    if len(ranges) == 1:
        return ranges[0]
    shown = {display_range(scale, r.indication.unit, r.indication.kg, r.range_selected) for r in group}
    return min(shown, key=lambda r: r.d)


# Reasons that say all there is to say: nothing for a person to look up or to mend.
PLAIN_REASONS = (
    "rounding-undecided", "empty-acceptance-zone", "no-change", "one-division", "too-much-added", "no-change-recorded",
    "tare-entered", "too-many-substitutions", "substitution-share",
)  # fmt: skip


def _point_flags(sent: Submission, found: PhaseJudgement | None, left: PhaseJudgement | None) -> list[Flag]:
    """One flag a code and phase, at its first place in what was sent."""
    flags: list[Flag] = []
    for name, judged in (("as_found", found), ("as_left", left if left is not found else None)):
        if judged is not None:
            of_points = _first_of_each(f"#/{name}", getattr(sent, name).readings, judged.points)
            flags += [*of_points, *_open_tests(f"#/{name}", judged.tests, of_points)]
    return flags


def _first_of_each(where: str, readings: Sequence[Reading], points: Sequence[PointJudgement]) -> list[Flag]:
    first: dict[str, Flag] = {}
    for point in points:
        for reason in point.reasons:
            if reason.code not in first and reason.code not in PLAIN_REASONS:
                pointer = f"{where}/readings/{readings.index(point.reading)}"
                first[reason.code] = Flag(reason.code, reason.sentence, reason.facts, pointer)
    return list(first.values())


def _open_tests(where: str, tests: Sequence[JudgedTest], told: Sequence[Flag]) -> list[Flag]:
    """A required test that is missing, or that the readings cannot decide, is for a person to see; each reason once."""
    known = {flag.code for flag in told} | {"rounding-undecided", "empty-acceptance-zone"}
    undecided = [test for test in tests if test.required and test.verdict in ("undecided", "not tested")]
    return [
        Flag(reason.code, reason.sentence, reason.facts, where)
        for test in undecided
        for reason in test.reasons
        if reason.code not in known
    ]
