"""One point judged: reference load, exact error, tolerance, budget, decision. `judging` strings points together."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from api.metrology import contributions
from api.metrology.budget import Budget, Contribution
from api.metrology.contributions import Corners
from api.metrology.decision import DecisionRule, decide, probability_of_conformity
from api.metrology.discrimination import change_of, judge_discrimination
from api.metrology.judgement import Flag, PointJudgement, WeightsCheck, flag_of
from api.metrology.policy import Policy
from api.metrology.readings import Reading
from api.metrology.refusals import EmptyAcceptanceZone, NoReferenceValue, Refusal
from api.metrology.repeatability import Spread
from api.metrology.scale import Range, Scale, beyond_display, display_range, grid_count, range_in_use
from api.metrology.terms import Placed
from api.metrology.tolerance import Scheme, Tolerance, tolerance_at
from api.metrology.uncertainty import budget_of
from api.metrology.verdict import Verdict
from api.metrology.weights import Piece, PieceShare, ReferenceLoad, nominal_sum, reference_load
from api.metrology.weights_check import too_coarse, weights_check, weights_outcome

ZERO = Decimal(0)
UNLOADED = ("zero found", "zero set")
NO_LOAD = ReferenceLoad((), ZERO, ZERO, 0.0, 0.0, 0.0, 0.0, ZERO, "no load")


@dataclass(slots=True)
class Worked:
    """What was already worked out in this visit: points share loads, ranges and tolerances, and so the arithmetic."""

    pieces: Mapping[str, Piece]
    policy: Policy
    nominals: dict[tuple[str, ...], Decimal] = field(default_factory=dict)
    loads: dict[tuple[str, ...], ReferenceLoad | Refusal] = field(default_factory=dict)
    shares: dict[str, PieceShare] = field(default_factory=dict)

    def nominal(self, reading: Reading) -> Decimal:
        """Return the nominal load in kg: of the pieces where all are known, else as the app declared it, else 0."""
        if not reading.pieces:
            return _declared(reading)
        if reading.pieces not in self.nominals:
            try:
                self.nominals[reading.pieces] = nominal_sum(reading.pieces, self.pieces)
            except NoReferenceValue:
                return _declared(reading)
        return self.nominals[reading.pieces]

    def load(self, codes: tuple[str, ...]) -> ReferenceLoad | Refusal:
        """Return the reference load of pieces, or what is refused about it."""
        if codes not in self.loads:
            try:
                self.loads[codes] = reference_load(codes, self.pieces, self.policy, self.shares)
            except Refusal as refusal:
                self.loads[codes] = refusal
        return self.loads[codes]


@dataclass(slots=True)
class PhaseContext:
    """Everything that stays the same for the points of one phase."""

    scale: Scale
    scheme: Scheme
    rule: DecisionRule
    worked: Worked
    spread: Spread | None
    corners: Corners | None
    adjusted_before: bool
    tolerances: dict[tuple[Range, Decimal], Tolerance | Refusal] = field(default_factory=dict)
    shared: dict[object, tuple[Contribution, ...]] = field(default_factory=dict)
    budgets: dict[object, Budget] = field(default_factory=dict)
    judged: dict[object, PointJudgement] = field(default_factory=dict)
    checks: dict[object, WeightsCheck] = field(default_factory=dict)


def judge_point(reading: Reading, context: PhaseContext) -> PointJudgement:
    """Return the judgement of one reading. What the metrology refuses makes it `undecided`, with the refusal as reason.

    The same indication of the same load, placed the same way, is judged once.
    """
    if reading.test == "discrimination":
        return _judge_change(reading, context.worked.nominal(reading), context)
    shown = reading.indication
    same = (
        reading.pieces, shown.value, shown.unit, reading.load, _placing_of(reading), reading.range_selected, reading.stable,
        reading.test in UNLOADED,
    )  # fmt: skip
    known = context.judged.get(same)
    if known is not None:
        return _again(reading, known)
    point = context.judged[same] = _judge_error(reading, context)
    return point


def _again(reading: Reading, known: PointJudgement) -> PointJudgement:
    return PointJudgement(
        reading, known.nominal_kg, known.in_use, known.load, known.error_kg, known.tolerance, known.budget,
        known.probability, known.verdict, known.reasons, None, known.weights_check,
    )  # fmt: skip


def _judge_error(reading: Reading, context: PhaseContext) -> PointJudgement:
    reasons: list[Flag] = []
    load = _load_of(reading, context, reasons)
    nominal = load.nominal_kg if load is not None else context.worked.nominal(reading)
    _check_declared(reading, nominal, load, reasons)
    in_use = _range_of(reading, nominal, context, reasons)
    _check_display(reading, context, reasons)
    tolerance = _tolerance_of(in_use, nominal, context, reasons)
    if load is None or in_use is None or tolerance is None:
        return PointJudgement(reading, nominal, in_use, load, None, tolerance, None, None, "undecided", tuple(reasons))
    error = reading.indication.kg - load.reference_kg
    budget = budget_at(reading, load, in_use, context)
    check = _weights_check(error, load, in_use, tolerance, context)
    if check is not None and check.outcome == "too coarse to decide it":
        reasons.append(too_coarse(load, tolerance, check.divisor))
    elif context.scheme.name == "r76" and _rounding_hides_it(error, tolerance, in_use, bool(load.pieces)):
        reasons.append(_hidden_by_rounding(in_use))
    verdict: Verdict = "undecided" if reasons else _decided(error, tolerance, budget, context.rule, reasons)
    u, t = budget.combined, float(tolerance.kg)
    degrees = budget.effective_degrees_of_freedom
    probability = probability_of_conformity(float(error), u, -t, t, degrees) if u else None
    return PointJudgement(
        reading, nominal, in_use, load, error, tolerance, budget, probability, verdict, tuple(reasons),
        weights_check=check,
    )  # fmt: skip


def _judge_change(reading: Reading, nominal: Decimal, context: PhaseContext) -> PointJudgement:
    """Discrimination asks for a change, not for an error: its reading has no tolerance of its own."""
    reasons: list[Flag] = []
    in_use = _range_of(reading, nominal, context, reasons)
    if in_use is None:
        return PointJudgement(reading, nominal, None, None, None, None, None, None, "undecided", tuple(reasons))
    change = change_of(reading, in_use, context.scheme.name)
    verdict, why = judge_discrimination(change)
    return PointJudgement(
        reading, nominal, in_use, None, None, None, None, None, verdict, (*reasons, *why), change=change
    )


def _declared(reading: Reading) -> Decimal:
    return reading.load.kg if reading.load is not None else ZERO


def _load_of(reading: Reading, context: PhaseContext, reasons: list[Flag]) -> ReferenceLoad | None:
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
    known = context.tolerances.get((in_use, nominal))
    if known is None:
        try:
            known = tolerance_at(context.scheme, context.scale.accuracy_class, in_use, nominal)
        except Refusal as refusal:
            known = refusal
        context.tolerances[in_use, nominal] = known
    if isinstance(known, Refusal):
        reasons.append(flag_of(known))
        return None
    return known


def budget_at(reading: Reading, load: ReferenceLoad, in_use: Range, context: PhaseContext) -> Budget:
    """Return the budget of one point; points that share load, range and placing share the arithmetic."""
    off_centre = (
        bool(load.pieces) and contributions.centre_may_be_off(_placing_of(reading)) and context.corners is not None
    )
    key = (load.pieces, in_use, reading.indication.kg if off_centre else None)
    budget = context.budgets.get(key)
    if budget is None:
        parts = [*_display_parts(in_use, context), *_weight_parts(load, context)]
        if off_centre and context.corners is not None:
            parts.append(contributions.eccentricity(context.corners, reading.indication.kg))
        budget = context.budgets[key] = budget_of(parts)
    return budget


def _placing_of(reading: Reading) -> Placed | None:
    """A corner reading stands where it was put: its place is what is measured, not a doubt about it."""
    return "one body centred" if reading.test == "eccentricity" else reading.placed


def _display_parts(in_use: Range, context: PhaseContext) -> tuple[Contribution, ...]:
    known = context.shared.get(in_use)
    if known is None:
        selected = context.scale.arrangement == "multiple-range"
        first = in_use if selected else context.scale.ranges_in(in_use.unit)[0]
        parts = [contributions.rounding_at_zero(first.d_kg), contributions.rounding_at_load(in_use.d_kg)]
        if context.spread is not None:
            parts.append(contributions.repeatability(context.spread))
        known = context.shared[in_use] = tuple(parts)
    return known


def _weight_parts(load: ReferenceLoad, context: PhaseContext) -> tuple[Contribution, ...]:
    if not load.pieces:
        return ()
    known = context.shared.get(load.pieces)
    if known is None:
        known = context.shared[load.pieces] = contributions.of_the_weights(load, context.adjusted_before)
    return known


def _weights_check(
    error: Decimal, load: ReferenceLoad, in_use: Range, tolerance: Tolerance, context: PhaseContext
) -> WeightsCheck | None:
    """Return how the weights were held against the tolerance, or None without weights; equal points share it."""
    if not load.pieces:
        return None
    divisor = context.worked.policy.weights_divisor
    outcome = weights_outcome(error, load, tolerance, divisor)
    key = (load.pieces, in_use, outcome)
    if key not in context.checks:
        context.checks[key] = weights_check(load, tolerance, divisor, outcome)
    return context.checks[key]


def _decided(error: Decimal, tolerance: Tolerance, budget: Budget, rule: DecisionRule, reasons: list[Flag]) -> Verdict:
    try:
        return decide(error, tolerance.kg, budget.printed, rule)
    except EmptyAcceptanceZone as refusal:
        reasons.append(flag_of(refusal))
        return "undecided"


def _rounding_hides_it(error: Decimal, tolerance: Tolerance, in_use: Range, loaded: bool) -> bool:
    """R 76-1 3.5.3.2: above d = 0.2 e the rounding is removed first. A plain reading leaves half a d at zero and half at
    the load; it decides only where that changes nothing. Without a load the half at zero is all."""
    if in_use.d_kg * 5 <= in_use.e_kg:
        return False
    hidden = in_use.d_kg if loaded else in_use.d_kg / 2
    return abs(error) - hidden <= tolerance.kg < abs(error) + hidden


def _hidden_by_rounding(in_use: Range) -> Flag:
    return Flag(
        "rounding-undecided",
        f"With d = {in_use.d:f} and e = {in_use.e:f} the rounding of the display is as large as the question. Change-over "
        "points, or a display in finer steps, would decide it (OIML R 76-1:2006 3.5.3.2).",
        {"d": f"{in_use.d:f}", "e": f"{in_use.e:f}"},
    )
