"""A plan in the making: steps are added one by one, and the pieces on the scale are followed from step to step."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal, Inexact
from typing import Any, Final

from api.metrology.eccentric_load import EccentricLoad
from api.metrology.lifting import Placement, lifting_index, moves_of
from api.metrology.mass import EXACT, METRIC, Mass, factor_of
from api.metrology.pieces_for_loads import LoadMade, NotMade, WantedLoad, made_as_asked, made_or_not, wanted_load
from api.metrology.plan_steps import Blank, Lifting, Part, PieceUsed, PlanFacts, PlanStep, StepTolerance
from api.metrology.refusals import NoTableValue
from api.metrology.return_limit import return_limit
from api.metrology.scale import range_in_use
from api.metrology.stock import Stock, plain, stock_of
from api.metrology.tolerance import Scheme, tolerance_at
from api.metrology.ways_shown import WayShown

AT_ONE_PLACE: Final = "centre"
READ: Final[tuple[Blank, ...]] = ("reading", "unit", "time")
LOOK: Final[tuple[Blank, ...]] = ("seen", "in order")


@dataclass(frozen=True, slots=True)
class Placed:
    """A load as it is really made, in kg, its pieces, and why it cannot be made where it cannot."""

    kg: Decimal
    pieces: tuple[str, ...] = ()
    cannot: str | None = None


def placed(made: LoadMade | NotMade | None, asked_kg: Decimal) -> Placed:
    """Return the load made; without a set, or where it cannot be made, the load that was asked."""
    if isinstance(made, LoadMade):
        return Placed(made.nominal_kg, made.pieces)
    return Placed(asked_kg, (), made.sentence if made else None)


class Sheet:
    """The steps so far, what stands on the scale, and every placement by hand."""

    def __init__(self, facts: PlanFacts) -> None:
        self.facts = facts
        self.plan_unit = facts.unit
        self.selected: int | None = None
        self.part: Part = "before anything is touched"
        self.steps: list[PlanStep] = []
        self.on_it: tuple[str, ...] = ()
        self.placements: list[Placement] = []
        self.stock: Stock | None = None
        if facts.pieces is not None:
            self.stock = stock_of(facts.pieces, facts.policy, facts.lift_limit_kg, certified=True)

    def show(self, way: WayShown) -> None:
        """Let the scale show another unit, or another range: the steps from here on are of it."""
        self.facts = replace(self.facts, scale=way.scale, unit=way.unit)
        self.selected = way.selected

    def add(self, name: str, do: str, *, pieces: Sequence[str] | None = None, **members: Any) -> PlanStep:
        """Add a step; `pieces` are those that stand on the scale at it, none touched where it is left out.

        What is rolled over the scale is not lifted from place to place.
        """
        number = len(self.steps) + 1
        standing = self.on_it if pieces is None else tuple(pieces)
        put_on = tuple(code for code in standing if code not in self.on_it)
        take_off = tuple(code for code in self.on_it if code not in standing)
        step = PlanStep(
            number, self.part, name, do, pieces=standing, put_on=put_on, take_off=take_off, range_selected=self.selected,
            display_unit=None if self.facts.unit == self.plan_unit else self.facts.unit, **members,
        )  # fmt: skip
        self.on_it = standing
        if pieces is not None:
            by_hand = step.test != "rolling load"
            self.placements.append(Placement(standing, (step.position if by_hand else None) or AT_ONE_PLACE))
        self.steps.append(step)
        return step

    def add_load(self, name: str, do: str, on_it: Placed, **members: Any) -> None:
        """Add a step that reads a load; `{load}` in its words stands for it."""
        words = do.replace("{load}", self.load_of(on_it.kg).shown)
        given = {
            "fill": READ, "readings": 1, "load": self.load_of(on_it.kg), "tolerance": self.tolerance(on_it.kg),
            "in_display": self.in_display(on_it.kg), "cautions": ("C-08",), "cannot": on_it.cannot,
        } | members  # fmt: skip
        if on_it.cannot is not None:
            given |= {"fill": (), "readings": 0, "each": ()}
        self.add(name, words, pieces=on_it.pieces, **given)

    def emptied(self) -> None:
        """Add a step that takes everything off, where anything stands there."""
        if self.on_it:
            self.add("empty", "Take everything off and wait until the display is steady.", pieces=())

    def weighed_again(self, pieces: Sequence[str], times: int) -> None:
        """Count the placements of so many further weighings of the same load, each from the empty scale."""
        for _ in range(times):
            self.placements += [Placement(()), Placement(tuple(pieces))]

    def load_of(self, kg: Decimal) -> Mass:
        """Return a load in kilograms, in grams on a scale that shows grams."""
        if self.facts.unit in ("g", "mg"):
            return Mass(plain(EXACT.divide(kg, factor_of("g"))), "g")
        return Mass(plain(kg), "kg")

    def in_display(self, kg: Decimal) -> Mass | None:
        """Return a load as a display in another unit than that of the pieces has to show it, to a hundredth of d."""
        unit = self.facts.unit
        if unit in METRIC or not kg:
            return None
        d = range_in_use(self.facts.scale, unit, kg).d
        return Mass((kg / factor_of(unit)).quantize(Decimal(1).scaleb(d.adjusted() - 2)), unit)

    def tolerance_of_return(self) -> StepTolerance | None:
        """Return by how much zero may have changed after a load; None where the scheme has no such limit."""
        facts = self.facts
        in_use = range_in_use(facts.scale, facts.unit, Decimal(0))
        try:
            found, left = (return_limit(facts.scale, in_use, s, None) for s in (facts.as_found, facts.as_left))
        except NoTableValue:
            return None
        return StepTolerance(self._in_unit(found.kg), self._in_unit(left.kg), found.counted, found.source)

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

    def made(self, kg: Decimal, never_above: bool = False) -> Placed:
        """Return a load with its pieces, or why it cannot be made; without pieces where no set was named."""
        if self.stock is None:
            return Placed(kg)
        return placed(made_as_asked(self.wanted(kg, never_above), self.stock, self.facts.policy), kg)

    def made_beside(self, load: WantedLoad, base: Placed) -> Placed:
        """Return a load made of the pieces that a base load leaves, or why it cannot be made."""
        if self.stock is None or base.cannot is not None:
            return Placed(load.target_kg, (), base.cannot)
        return placed(made_as_asked(load, self.stock.without(base.pieces), self.facts.policy), load.target_kg)

    def wanted_at_corners(self, load: EccentricLoad) -> WantedLoad:
        """Return the load for the corners as the choice of pieces wants it: anywhere within the load's bounds."""
        tolerance = self.tolerance_kg(self.facts.as_left)(load.least_kg)
        return WantedLoad(load.kg, tolerance, within_kg=(load.least_kg, load.most_kg))

    def made_within(self, load: EccentricLoad) -> Placed:
        """Return the fewest pieces for the corners, or why they cannot be loaded."""
        if self.stock is None:
            return Placed(plain(load.kg))
        return placed(made_or_not(self.wanted_at_corners(load), self.stock, self.facts.policy), plain(load.kg))

    def bound_kg(self, pieces: Sequence[str]) -> Decimal:
        """Return what the errors of pieces of the set may come to, in kilograms."""
        if self.stock is None:
            return Decimal(0)
        counts = [sum(code in pieces for code in codes) for codes in self.stock.codes]
        return self.stock.bound_kg(self.stock.bound_of(counts))

    def used(self) -> tuple[PieceUsed, ...]:
        """Return the pieces that the steps place, the heaviest first."""
        codes = {code for step in self.steps for code in step.pieces}
        pieces = sorted((p for p in self.facts.pieces or () if p.code in codes), key=lambda p: (-p.nominal.kg, p.code))
        return tuple(PieceUsed(piece.code, piece.nominal) for piece in pieces)

    def lifting(self) -> Lifting | None:
        """Return what the steps ask of a person's back, or None where no set was named or nothing can be placed."""
        used = {piece.piece for piece in self.used()}
        if not used:
            return None
        nominal = {piece.code: piece.nominal.kg for piece in self.facts.pieces or ()}
        moves = moves_of(self.placements, nominal)
        heaviest = max(nominal[code] for code in used)
        found = lifting_index(heaviest, self.facts.scale.kind)
        limit, index = Decimal(f"{found.limit_kg:.1f}"), Decimal(f"{found.index:.2f}")
        return Lifting(moves.lifts, plain(moves.kg), self.load_of(heaviest), found.situation, limit, index)
