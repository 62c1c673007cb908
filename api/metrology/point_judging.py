"""One point judged: reference load, exact error, tolerance, budget, decision. `judging` strings points together."""

from decimal import Decimal

from api.metrology.budget import Budget
from api.metrology.change_over import ChangeOver, exact_indication, zero_before
from api.metrology.decision import DecisionRule, decide, probability_of_conformity
from api.metrology.discrimination import change_of, judge_discrimination
from api.metrology.judgement import Flag, PointJudgement, WeightsCheck, flag_of
from api.metrology.phase_context import NO_LOAD, UNLOADED, PhaseContext, declared
from api.metrology.point_budget import budget_at, placing_of
from api.metrology.readings import Reading
from api.metrology.refusals import EmptyAcceptanceZone, NoReferenceValue, Refusal
from api.metrology.return_to_zero import zero_change
from api.metrology.risk_by_prior import RiskByPrior, prior_at, risk_by_prior
from api.metrology.scale import Range, beyond_display, display_range, grid_count, range_in_use
from api.metrology.shift import Shift
from api.metrology.substituted_load import substituted_load, substitution_reasons
from api.metrology.tare import tare_reasons
from api.metrology.tolerance import Tolerance, tolerance_at
from api.metrology.verdict import Verdict
from api.metrology.weights import ReferenceLoad
from api.metrology.weights_check import too_coarse, weights_check, weights_outcome

_BY_CHANGE = ("discrimination", "return to zero")


def judge_point(reading: Reading, context: PhaseContext) -> PointJudgement:
    """Return the judgement of one reading. What the metrology refuses makes it `undecided`, with the refusal as reason.

    The same indication of the same load, placed the same way, is judged once.
    """
    if reading.test in _BY_CHANGE:
        return _judge_change(reading, context.worked.nominal(reading), context)
    shown, load = reading.indication, reading.load
    same = (
        reading.pieces, shown.value, shown.unit, load and (load.value, load.unit), placing_of(reading), reading.stable,
        reading.test in UNLOADED, _told_apart_by(reading),
    )  # fmt: skip
    known = context.judged.get(same)
    if known is not None:
        return _again(reading, known)
    point = context.judged[same] = _judge_error(reading, context)
    return point


def _told_apart_by(reading: Reading) -> object:
    """What else makes a reading differ from others of the same indication and load; most have nothing of it."""
    if reading.change_over_added is not None:
        return reading.seq
    if reading.substitution is not None or reading.tare is not None or reading.test == "tare":
        return (
            reading.range_selected, reading.substitution, reading.before, reading.tare, reading.tare_entered,
            reading.test == "tare",
        )  # fmt: skip
    return reading.range_selected


def _again(reading: Reading, known: PointJudgement) -> PointJudgement:
    return PointJudgement(reading, *known[1:])


def _judge_error(reading: Reading, context: PhaseContext) -> PointJudgement:
    reasons: list[Flag] = []
    load = _load_of(reading, context, reasons)
    nominal = load.nominal_kg if load is not None else _nominal_of_unknown(reading, context)
    _check_declared(reading, nominal, load, reasons)
    in_use = _range_of(reading, nominal, context, reasons)
    _check_display(reading, context, reasons)
    if reading.tare is not None or reading.test == "tare":
        reasons += tare_reasons(reading, nominal, context.scale)
    tolerance = _tolerance_of(in_use, nominal, context, reasons)
    if load is not None and load.substitutions and in_use is not None:
        reasons += substitution_reasons(reading, load, in_use, context)
    if load is None or in_use is None or tolerance is None:
        return PointJudgement(reading, nominal, in_use, load, None, tolerance, None, None, "undecided", tuple(reasons))
    over = _change_over_of(reading, load, context, reasons)
    error = reading.indication.kg - load.reference_kg if over is None else over.corrected_error
    budget = budget_at(reading, load, in_use, context, over)
    check = _weights_check(error, load, in_use, tolerance, context)
    if check is not None and check.outcome == "too coarse to decide it":
        reasons.append(too_coarse(load, tolerance, check.divisor))
    elif context.scheme.name == "r76" and _rounding_hides_it(error, tolerance, in_use, load, over):
        reasons.append(_hidden_by_rounding(in_use))
    verdict: Verdict = "undecided" if reasons else _decided(error, tolerance, budget, context.rule, reasons)
    u, t = budget.combined, float(tolerance.kg)
    degrees = budget.effective_degrees_of_freedom
    probability = probability_of_conformity(float(error), u, -t, t, degrees) if u else None
    return PointJudgement(
        reading, nominal, in_use, load, error, tolerance, budget, probability, verdict, tuple(reasons),
        weights_check=check, change_over=over, risk=_risk(verdict, error, tolerance, in_use, budget, context),
    )  # fmt: skip


def _risk(
    verdict: Verdict, error: Decimal, tolerance: Tolerance, in_use: Range, budget: Budget, context: PhaseContext
) -> RiskByPrior | None:
    prior = context.worked.policy.prior
    if prior is None or verdict == "undecided":
        return None
    before = prior_at(prior, tolerance.kg, in_use.d_kg)
    return risk_by_prior(verdict, error, tolerance.kg, budget, context.rule, before)


def _nominal_of_unknown(reading: Reading, context: PhaseContext) -> Decimal:
    """What is known of a load without a reference value; on a substitute load the pieces are only a part of it."""
    return context.worked.nominal(reading) if reading.substitution is None else declared(reading)


def _change_over_of(
    reading: Reading, load: ReferenceLoad, context: PhaseContext, reasons: list[Flag]
) -> ChangeOver | None:
    """The change-over point of a reading, corrected by that at zero; a zero is itself, without correction."""
    if reading.change_over_added is None:
        return None
    try:
        point = exact_indication(reading, context.scale)
    except Refusal as refusal:
        reasons.append(flag_of(refusal))
        return None
    zero = None
    if reading.test not in UNLOADED:
        zero = zero_before(reading.seq, [z for z in context.zeros if z.error_kg is not None])
    return ChangeOver(point, point - load.reference_kg, zero.error_kg if zero else None)


def _judge_change(reading: Reading, nominal: Decimal, context: PhaseContext) -> PointJudgement:
    """What is asked for is a change, not an error: its reading has no tolerance of its own."""
    reasons: list[Flag] = []
    in_use = _range_of(reading, nominal, context, reasons)
    if in_use is None:
        return PointJudgement(reading, nominal, None, None, None, None, None, None, "undecided", tuple(reasons))
    if reading.test == "discrimination":
        change = change_of(reading, in_use, context.scheme.name)
        verdict, why = judge_discrimination(change)
        return PointJudgement(
            reading, nominal, in_use, None, None, None, None, None, verdict, (*reasons, *why), change=change
        )
    return _judge_zero_change(reading, nominal, in_use, context, reasons)


def _judge_zero_change(
    reading: Reading, nominal: Decimal, in_use: Range, context: PhaseContext, reasons: list[Flag]
) -> PointJudgement:
    _check_display(reading, context, reasons)
    shift = _zero_change(reading, in_use, context, reasons)
    verdict: Verdict = "undecided" if shift is None or reasons else shift.verdict
    if shift is not None and shift.verdict == "undecided":
        reasons.append(_hidden_by_rounding(in_use))
    return PointJudgement(
        reading, nominal, in_use, None, None, None, None, None, verdict, tuple(reasons), zero_shift=shift
    )


def _zero_change(reading: Reading, in_use: Range, context: PhaseContext, reasons: list[Flag]) -> Shift | None:
    try:
        found = zero_change(reading, context.zeros, in_use, context.scale, context.scheme)
    except Refusal as refusal:
        reasons.append(flag_of(refusal))
        return None
    if isinstance(found, Flag):
        reasons.append(found)
        return None
    return found


def _load_of(reading: Reading, context: PhaseContext, reasons: list[Flag]) -> ReferenceLoad | None:
    if reading.substitution is not None:
        return _on_a_substitute(reading, context, reasons)
    if not reading.pieces:
        if reading.load is None and reading.test not in UNLOADED:
            reasons.append(
                Flag(NoReferenceValue.code, f"Neither load nor pieces are named for a reading of {reading.test}.")
            )
            return None
        if reading.load is None or not reading.load.kg:
            return NO_LOAD
        said = f"A load of {reading.load.shown} was placed, but no pieces are named for it."
        reasons.append(Flag(NoReferenceValue.code, said))
        return None
    known = context.worked.load(reading.pieces)
    if isinstance(known, Refusal):
        reasons.append(flag_of(known))
        return None
    return known


def _on_a_substitute(reading: Reading, context: PhaseContext, reasons: list[Flag]) -> ReferenceLoad | None:
    found = substituted_load(reading, context)
    if isinstance(found, Flag):
        reasons.append(found)
        return None
    return found


def _check_declared(reading: Reading, nominal: Decimal, load: ReferenceLoad | None, reasons: list[Flag]) -> None:
    if load is None or reading.load is None or reading.load.kg == nominal:
        return
    facts = {"load": reading.load.shown, "pieces": f"{nominal:f} kg"}
    sentence = f"The load is given as {reading.load.shown}, but the pieces named add up to {nominal:f} kg."
    reasons.append(Flag("load-differs-from-pieces", sentence, facts))


def _range_of(reading: Reading, nominal: Decimal, context: PhaseContext, reasons: list[Flag]) -> Range | None:
    try:
        return range_in_use(context.scale, reading.indication.unit, nominal, reading.range_selected)
    except Refusal as refusal:
        reasons.append(flag_of(refusal))
        return None


def _check_display(reading: Reading, context: PhaseContext, reasons: list[Flag]) -> None:
    shown = reading.indication
    if reading.stable is False:
        reasons.append(Flag("not-stable", f"{shown.shown} was read while the display was not at rest."))
    try:
        in_use = display_range(context.scale, shown.unit, shown.kg, reading.range_selected)
        if shown.kg > in_use.max_kg and (beyond := beyond_display(in_use, shown.kg)):
            _add_once(beyond, reasons)
        grid_count(shown.value, in_use.d)
    except Refusal as refusal:
        _add_once(refusal, reasons)


def _add_once(refusal: Refusal, reasons: list[Flag]) -> None:
    if refusal.code not in {r.code for r in reasons}:
        reasons.append(flag_of(refusal))


def _tolerance_of(
    in_use: Range | None, nominal: Decimal, context: PhaseContext, reasons: list[Flag]
) -> Tolerance | None:
    if in_use is None:
        return None
    known = context.tolerances.get((id(in_use), nominal))
    if known is None:
        try:
            known = tolerance_at(context.scheme, context.scale.accuracy_class, in_use, nominal)
        except Refusal as refusal:
            known = refusal
        context.tolerances[id(in_use), nominal] = known
    if isinstance(known, Refusal):
        reasons.append(flag_of(known))
        return None
    return known


def _weights_check(
    error: Decimal, load: ReferenceLoad, in_use: Range, tolerance: Tolerance, context: PhaseContext
) -> WeightsCheck | None:
    """Return how the weights were held against the tolerance, or None without weights; equal points share it."""
    if not load.is_loaded:
        return None
    divisor = context.worked.policy.weights_divisor
    outcome = weights_outcome(error, load, tolerance, divisor)
    key = (load.key, id(in_use), outcome)
    if key not in context.checks:
        context.checks[key] = weights_check(load, tolerance, divisor, outcome)
    return context.checks[key]


def _decided(error: Decimal, tolerance: Tolerance, budget: Budget, rule: DecisionRule, reasons: list[Flag]) -> Verdict:
    try:
        return decide(error, tolerance.kg, budget.printed, rule)
    except EmptyAcceptanceZone as refusal:
        reasons.append(flag_of(refusal))
        return "undecided"


def _rounding_hides_it(
    error: Decimal, tolerance: Tolerance, in_use: Range, load: ReferenceLoad, over: ChangeOver | None
) -> bool:
    """R 76-1 3.5.3.2: above d = 0.2 e the rounding is removed first. A plain reading leaves half a d at zero and half at
    the load; it decides only where that changes nothing. Without a load the half at zero is all. A change-over point
    removes the half at its load, one at zero the other. Each substitute load was balanced by two rounded readings."""
    if in_use.d_kg * 5 <= in_use.e_kg:
        return False
    exact = over is not None and (over.error_at_zero is not None or not load.is_loaded)
    halves = 0 if exact else 2 if load.is_loaded and over is None else 1
    hidden = in_use.d_kg / 2 * (halves + 2 * load.substitutions)
    return abs(error) - hidden <= tolerance.kg < abs(error) + hidden


def _hidden_by_rounding(in_use: Range) -> Flag:
    return Flag(
        "rounding-undecided",
        f"With d = {in_use.d:f} and e = {in_use.e:f} the rounding of the display is as large as the question. Change-over "
        "points, or a display in finer steps, would decide it (OIML R 76-1:2006 3.5.3.2).",
        {"d": f"{in_use.d:f}", "e": f"{in_use.e:f}"},
    )
