"""What is a weighing on this scale worth? From how it was left: the error line, U in use, and what can be claimed.

Computed when asked, from the stored working of the newest visit that shows it; no stored verdict is touched.
"""

from collections.abc import Sequence
from datetime import date
from decimal import Decimal

from sqlalchemy import Connection

from api.answers.as_left import LeftAs, behaviour_of, proven_of, scheme_in_use, tolerance_in_use, visits_that_stand
from api.metrology.claims import (
    Claim,
    ToleranceAt,
    claim_of,
    reach_of_slope,
    stretches,
    where_is,
)
from api.metrology.coverage_factors import coverage_factor
from api.metrology.error_line import ErrorLine
from api.metrology.judgement import ProvenRange
from api.metrology.kinds_of_plan import PLAN_OF
from api.metrology.least_squares import chi_square_limit
from api.metrology.refusals import NothingToComputeFrom, Refusal
from api.metrology.rounding import on_the_wire, printed_uncertainty, rounded_like
from api.metrology.tolerance import loads_of_change
from api.metrology.weighing_in_use import Behaviour, linear_bound, weighing_in_use
from api.queries.calibrations import history_of
from api.queries.register import in_force
from api.records.calibration import Calibration
from api.records.weighing import (
    ClaimedStretch,
    ContributionInUse,
    FittedLine,
    WeighingAnswer,
    WeighingWorth,
)

_SCHEMES = {"hb44": "NIST Handbook 44", "r76": "OIML R 76-1"}


def weighing_of(connection: Connection, tag: str, *, on: date, reading_kg: Decimal | None = None) -> WeighingAnswer:
    """Return what a weighing on a device is worth, at one reading or over its proven range.

    Refuses a device not on the register that day (`NotOnRecord`), and one of which nothing shows how it was left
    (`NothingToComputeFrom`).
    """
    device = in_force(connection, "device", tag, on=on).record
    return weighing_from(tag, history_of(connection, *device.tags), on, reading_kg)


def weighing_from(
    tag: str, history: Sequence[Calibration], on: date, reading_kg: Decimal | None = None
) -> WeighingAnswer:
    """Return what a weighing is worth, from a history that was already read."""
    left, behaviour, passed_over = _newest(tag, history, on)
    return _Worth(left, behaviour).answer(tag, on, reading_kg, passed_over)


def _newest(tag: str, history: Sequence[Calibration], on: date) -> tuple[LeftAs, Behaviour, tuple[str, ...]]:
    """The newest visit with all that is needed; one that was adjusted has to show it itself."""
    passed_over: list[str] = []
    last: NothingToComputeFrom | None = None
    for left in visits_that_stand(history, on):
        try:
            return left, behaviour_of(left), tuple(passed_over)
        except NothingToComputeFrom as lacking:
            last = lacking
            passed_over.append(f"{lacking.sentence.split('. ')[0]}; an older visit counts.")
        if left.visit.adjusted:
            break
    raise last or NothingToComputeFrom(
        f"No calibration on record shows how {tag} was left on {on.isoformat()}. One with increasing loads and three "
        "weighings of one load, measured after the last adjustment, would.",
        device=tag,
        on=on.isoformat(),
    )


class _Worth:
    """One visit's behaviour with what it is held against: makes the parts of the answer."""

    def __init__(self, left: LeftAs, behaviour: Behaviour) -> None:
        self.left, self.behaviour = left, behaviour
        self.proven: ProvenRange | None = proven_of(left)
        self.tolerance_at: ToleranceAt = tolerance_in_use(left, behaviour.ranges)
        self.changes = loads_of_change(
            scheme_in_use(left).name, left.visit.working["device"]["accuracy_class"], behaviour.ranges
        )

    def answer(self, tag: str, on: date, reading_kg: Decimal | None, passed_over: tuple[str, ...]) -> WeighingAnswer:
        """Return the whole answer, at one reading or at the loads of a table."""
        asked = [reading_kg] if reading_kg is not None else self.loads()
        bound = linear_bound(self.behaviour, [load for load in self.loads() if load <= self.top])
        proven, line = self.proven, self.behaviour.line
        return WeighingAnswer(
            device=tag, on=on, visit=self.left.leaned, proven=self.left.phase["proven_words"], tolerance=self.scheme(),
            tolerance_stage=scheme_in_use(self.left).stage,
            line=_fitted(line), alpha_kg=_printed(bound.alpha_kg), beta_ppm=_printed(bound.beta * 1e6),
            readings=tuple(self.worth(load, whole=reading_kg is not None) for load in asked),
            typical_kg=tuple(self.typical()), claims=self.claims(), assumptions=(*self.assumptions(), *passed_over),
            proven_from_kg=proven.from_kg if proven else None, proven_to_kg=proven.to_kg if proven else None,
            below_percent=self.below_percent(), slope_reaches_kg=self.slope_reaches(line),
        )  # fmt: skip

    @property
    def top(self) -> Decimal:
        """The highest load of which anything is said: of the proven range, else the highest placed."""
        return self.proven.to_kg if self.proven else Decimal(repr(self.behaviour.line.points[-1].load_kg))

    def loads(self) -> list[Decimal]:
        """Zero, the loads that were placed, typical loads, and both sides of a change of the division, up to the top."""
        placed = {Decimal(repr(p.load_kg)).normalize() for p in self.behaviour.line.points}
        ends = {self.proven.from_kg, self.proven.to_kg} if self.proven else set()
        jumps = {r.max_kg for r in self.behaviour.ranges[:-1]}
        jumps |= {r.max_kg + n.d_kg for r, n in zip(self.behaviour.ranges, self.behaviour.ranges[1:], strict=False)}
        all_loads = {Decimal(0)} | placed | ends | jumps | set(self.typical())
        return sorted({Decimal(f"{load.normalize():f}") for load in all_loads if load <= self.top})

    def typical(self) -> list[Decimal]:
        """The typical loads of its kind inside the proven range; where none is, the middle of it."""
        if self.proven is None:
            return []
        low, high = self.proven.from_kg, self.proven.to_kg
        inside = [load for load in PLAN_OF[self.left.kind].typical if low <= load <= high]
        return inside or [Decimal(f"{float(low + high) / 2:.2g}")]

    def worth(self, load: Decimal, whole: bool) -> WeighingWorth:
        """Return what a weighing at a reading is worth; above the proven range nothing is computed."""
        where = where_is(load, self.proven)
        if where == "above":
            return WeighingWorth(load, where, "cannot say", self.why_not_above())
        weighing = weighing_in_use(load, self.behaviour)
        claim, why = self.claimed(load)
        parts = tuple(
            ContributionInUse(c.name, _printed(c.standard_uncertainty, 3), c.source)
            for c in weighing.budget.contributions
        )
        return WeighingWorth(
            load, where, claim, why, on_the_wire(weighing.error_kg), _printed(weighing.budget.expanded),
            Decimal(f"{weighing.budget.k:.2f}"), on_the_wire(weighing.uncorrected_kg), weighing.percent,
            self.tolerance(load), parts if whole else (),
        )  # fmt: skip

    def claim(self, load: Decimal) -> Claim:
        """Return what can be claimed of a weighing; good news of a visit that nobody reviewed waits."""
        try:
            claim = claim_of(weighing_in_use(load, self.behaviour), self.proven, self.tolerance_at)
        except Refusal:  # no tolerance at that load
            return "cannot say"
        return "cannot say" if claim == "within tolerance" and self.unreviewed else claim

    @property
    def unreviewed(self) -> bool:
        """Whether the visit waits for its review."""
        return self.left.visit.standing == "provisional"

    def claimed(self, load: Decimal) -> tuple[Claim, str]:
        """Return the claim and the sentence that says why."""
        claim = self.claim(load)
        if load <= 0:
            return claim, "Nothing is weighed at zero."
        against = "the tolerance" if where_is(load, self.proven) == "proven" else "the tolerance in percent"
        if self.proven is not None and load < self.proven.from_kg:
            against += f" at {_plain(self.proven.from_kg)} kg, the lowest load proven"
        if claim == "within tolerance":
            return claim, f"Error and U together stay within {against}."
        if claim == "out of tolerance":
            return claim, f"The error is beyond {against} by more than U."
        if self.tolerance(load) is None:
            return claim, "The scheme has no tolerance at this load."
        if self.unreviewed:
            return claim, f"U leaves it open against {against}, or the visit is not yet reviewed."
        return claim, f"U leaves it open against {against}."

    def why_not_above(self) -> str:
        """Return why nothing is said above the proven range."""
        if self.proven is None:
            return str(self.left.phase["proven_words"])
        return f"Above {_plain(self.proven.to_kg)} kg, the highest load proven: nothing is claimed there."

    def tolerance(self, load: Decimal) -> Decimal | None:
        """Return the tolerance of a scale in use at a load, or None where the scheme has none."""
        try:
            return on_the_wire(self.tolerance_at(load))
        except Refusal:
            return None

    def claims(self) -> tuple[ClaimedStretch, ...]:
        """Return the claims over all loads up to the capacity."""
        capacity = self.behaviour.ranges[-1].max_kg
        if self.proven is None:
            return (ClaimedStretch(Decimal(0), capacity, "above", "cannot say"),)
        found = stretches(self.claim, self.proven, self.changes, capacity)
        return tuple(ClaimedStretch(s.from_kg, on_the_wire(s.to_kg), s.where, s.claim) for s in found)

    def below_percent(self) -> Decimal | None:
        """Return what the tolerance at the lowest load proven is in percent of it."""
        if self.proven is None or self.proven.from_kg <= 0:
            return None
        tolerance = self.tolerance(self.proven.from_kg)
        return printed_uncertainty(float(tolerance / self.proven.from_kg) * 100) if tolerance else None

    def slope_reaches(self, line: ErrorLine) -> Decimal | None:
        """Return up to which load the slope's uncertainty alone stays within the tolerance."""
        k = coverage_factor(line.degrees_of_freedom)
        u_slope = line.through_zero.covariance[0][0] ** 0.5
        steps = [(load, tolerance) for load in self.changes if (tolerance := self.tolerance(load)) is not None]
        reach = reach_of_slope(u_slope, k, steps)
        return Decimal(f"{float(reach):.3g}") if reach is not None else None

    def scheme(self) -> str:
        """Return the tolerance it is held against, in words."""
        scheme = scheme_in_use(self.left)
        if scheme.house is not None:
            return f"house rule {scheme.house.code}"
        return f"{_SCHEMES[scheme.name]}, edition {scheme.edition}, {scheme.stage} tolerance"

    def assumptions(self) -> tuple[str, ...]:
        """Return what the numbers rest on, and what is not in them."""
        corners = (
            "The load may stand anywhere on the platform: the whole difference between places counts (EURAMET cg-18 7.4, "
            "from memory; a public program that follows it takes half)."
            if self.behaviour.corners
            else "No corner readings: what an off-centre load changes is not in U."
        )
        said = ["Zeroed before the weighing, read once, at rest.", corners]
        if not self.behaviour.spread.s_kg:
            said.append(
                "All repeats read the same: what the scale spreads is hidden in the rounding, and counted by it."
            )
        said.append("Drift since the calibration, temperature, and what moves or touches the scale are not in U.")
        return tuple(said)


def _fitted(line: ErrorLine) -> FittedLine:
    u_slope = printed_uncertainty(line.through_zero.covariance[0][0] ** 0.5 * 1e6)
    through = line.through_zero
    limit = chi_square_limit(through.degrees_of_freedom) if through.degrees_of_freedom else 0.0
    u_zero = _printed(min(p.u_kg for p in line.points))
    return FittedLine(
        line.form, rounded_like(line.slope * 1e6, u_slope), u_slope, on_the_wire(rounded_like(line.zero_kg, u_zero)),
        Decimal(f"{through.chi_square:.2f}"), Decimal(f"{limit:.2f}"), len({p.load_kg for p in line.points}),
    )  # fmt: skip


def _printed(value: float, digits: int = 2) -> Decimal:
    return on_the_wire(printed_uncertainty(value, digits))


def _plain(value: Decimal) -> str:
    return f"{value.normalize():f}"
