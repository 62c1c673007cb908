"""A plan in the making: steps are added one by one, and the pieces on the scale are followed from step to step."""

from collections.abc import Callable, Sequence
from decimal import Decimal, Inexact
from typing import Any

from api.metrology.eccentric_load import EccentricLoad
from api.metrology.lifting import Placement, lifting_index, moves_of
from api.metrology.mass import EXACT, Mass, factor_of
from api.metrology.pieces_for_loads import LoadMade, NotMade, WantedLoad, made_or_not, wanted_load
from api.metrology.plan_steps import Lifting, PlanFacts, PlanStep, StepTolerance
from api.metrology.scale import range_in_use
from api.metrology.stock import Stock, plain, stock_of
from api.metrology.tolerance import Scheme, tolerance_at

AT_ONE_PLACE = "centre"


class Sheet:
    """The steps so far, what stands on the scale, and every placement by hand."""

    def __init__(self, facts: PlanFacts) -> None:
        self.facts = facts
        self.steps: list[PlanStep] = []
        self.on_it: tuple[str, ...] = ()
        self.placements: list[Placement] = []
        self.stock: Stock | None = None
        if facts.pieces is not None:
            self.stock = stock_of(facts.pieces, facts.policy, facts.lift_limit_kg, certified=True)

    def add(self, name: str, do: str, *, pieces: Sequence[str] | None = None, **members: Any) -> PlanStep:
        """Add a step; `pieces` are those that stand on the scale at it, none touched where it is left out."""
        number = len(self.steps) + 1
        standing = self.on_it if pieces is None else tuple(pieces)
        put_on = tuple(code for code in standing if code not in self.on_it)
        take_off = tuple(code for code in self.on_it if code not in standing)
        step = PlanStep(number, name, do, pieces=standing, put_on=put_on, take_off=take_off, **members)
        self.on_it = standing
        if pieces is not None:
            self.placements.append(Placement(standing, step.position or AT_ONE_PLACE))
        self.steps.append(step)
        return step

    def weighed_again(self, pieces: Sequence[str], times: int) -> None:
        """Count the placements of so many further weighings of the same load, each from the empty scale."""
        for _ in range(times):
            self.placements += [Placement(()), Placement(tuple(pieces))]

    def load_of(self, kg: Decimal) -> Mass:
        """Return a load in kilograms, in grams on a scale that shows grams."""
        if self.facts.unit in ("g", "mg"):
            return Mass(plain(EXACT.divide(kg, factor_of("g"))), "g")
        return Mass(plain(kg), "kg")

    def tolerance(self, kg: Decimal) -> StepTolerance:
        """Return both stages' tolerance at a load, in the unit in use, with the ward's need beside."""
        facts = self.facts
        in_use = range_in_use(facts.scale, facts.unit, kg)
        found = tolerance_at(facts.as_found, facts.scale.accuracy_class, in_use, kg)
        left = tolerance_at(facts.as_left, facts.scale.accuracy_class, in_use, kg)
        return StepTolerance(
            self._in_unit(found.kg), self._in_unit(left.kg), found.counted, found.source, self._ward_needs(kg)
        )

    def _ward_needs(self, kg: Decimal) -> Mass | None:
        need = self.facts.need
        if need is None:
            return None
        if need.kg is not None:
            return self._in_unit(need.kg)
        if need.percent is None or not kg:
            return None
        return self._in_unit(EXACT.multiply(kg, EXACT.multiply(need.percent, Decimal("0.01"))))

    def _in_unit(self, kg: Decimal) -> Mass:
        """In the unit in use where that is exact, else in kilograms: 0.5 kg has no end in pounds."""
        try:
            return Mass(plain(EXACT.divide(kg, factor_of(self.facts.unit))), self.facts.unit)
        except Inexact:
            return Mass(plain(kg), "kg")

    def tolerance_kg(self, scheme: Scheme) -> Callable[[Decimal], Decimal]:
        """Return the function that gives the tolerance in kilograms at a load in kilograms."""
        scale, unit = self.facts.scale, self.facts.unit
        return lambda kg: tolerance_at(scheme, scale.accuracy_class, range_in_use(scale, unit, kg), kg).kg

    def wanted(self, kg: Decimal, never_above: bool = False) -> WantedLoad:
        """Return a load as the choice of pieces wants it, under the finer of the two stages."""
        return wanted_load(kg, self.tolerance_kg(self.facts.as_left), never_above)

    def made(self, kg: Decimal, never_above: bool = False) -> LoadMade | NotMade | None:
        """Return the pieces for a load, or why it cannot be made; None where no set was named."""
        return made_or_not(self.wanted(kg, never_above), self.stock, self.facts.policy) if self.stock else None

    def wanted_at_corners(self, load: EccentricLoad) -> WantedLoad:
        """Return the load for the corners as the choice of pieces wants it: anywhere within the load's bounds."""
        tolerance = self.tolerance_kg(self.facts.as_left)(load.least_kg)
        return WantedLoad(load.kg, tolerance, within_kg=(load.least_kg, load.most_kg))

    def made_within(self, load: EccentricLoad) -> LoadMade | NotMade | None:
        """Return the fewest pieces for the corners, or why they cannot be loaded; None where no set was named."""
        return made_or_not(self.wanted_at_corners(load), self.stock, self.facts.policy) if self.stock else None

    def lifting(self) -> Lifting | None:
        """Return what the steps ask of a person's back, or None where no set was named or nothing can be placed."""
        used = {code for placement in self.placements for code in placement.pieces}
        if not used or self.facts.pieces is None:
            return None
        nominal = {piece.code: piece.nominal.kg for piece in self.facts.pieces}
        moves = moves_of(self.placements, nominal)
        heaviest = max(nominal[code] for code in used)
        found = lifting_index(heaviest, self.facts.scale.kind)
        limit, index = Decimal(f"{found.limit_kg:.1f}"), Decimal(f"{found.index:.2f}")
        return Lifting(moves.lifts, plain(moves.kg), self.load_of(heaviest), found.situation, limit, index)
