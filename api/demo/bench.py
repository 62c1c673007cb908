"""A scale, a set of weights beside it, and the readings as they are written down one after the other."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal
from typing import Any, Final

from api.demo.behaviour import SimulatedScale
from api.demo.load_lists import pieces_for, true_load
from api.metrology.mass import Mass, kilograms
from api.metrology.readings import Reading
from api.metrology.scale import range_in_use
from api.metrology.terms import Placed, Position, TestName

# Discrimination: 1.4 d added to a scale at rest must change the display (OIML R 76-1:2006 3.8.2.2, from memory).
# Grains brought the scale to just below the next change-over first, as HB 44 N.1.5 has it (from memory).
_ADDED_DIVISIONS: Final = Decimal("1.4")
# Repeats and the way down are read as they are shown: small weights would take the display along.
_WITH_CHANGE_OVER: Final = ("increasing", "eccentricity")


@dataclass(slots=True)
class Bench:
    """A scale, a set of weights beside it, and the readings written down so far.

    `swapped` names the piece that was really taken in place of one of the set. With `change_over` small weights are at
    hand to find the change-over point of a display.
    """

    scale: SimulatedScale
    weight_set: str
    swapped: Mapping[str, str] = field(default_factory=dict)
    change_over: bool = False
    readings: list[Reading] = field(default_factory=list)

    def empty(self, test: TestName, indication: Mass) -> None:
        """Write down a reading with nothing on the scale."""
        exact = self.change_over and test == "zero set"
        self.write(
            test, indication, change_over_added=self.scale.added_to_change_over(float(indication.kg)) if exact else None
        )

    def weigh(
        self, test: TestName, load: Decimal, position: Position | None = None, excluded: str | None = None
    ) -> Mass:
        """Place a load, write down the display, and return it; an excluded reading shows 6 d too much."""
        felt = self.scale.felt(self.truly(load), position, unloading=test == "decreasing")
        felt += 6 * self.scale.finest_kg if excluded else 0.0
        exact = self.change_over and test in _WITH_CHANGE_OVER
        return self.write(
            test,
            self.scale.shown(felt),
            load,
            placed=None if position else self.placing_of(load),
            position=position,
            change_over_added=self.scale.added_to_change_over(felt) if exact else None,
            excluded=excluded,
        )

    def write(self, test: TestName, indication: Mass, placed_kg: Decimal | None = None, **beside: Any) -> Mass:
        """Write down a display at rest with the pieces of a load, or with what else is beside it, and return it."""
        pieces = () if placed_kg is None else self.named(placed_kg)
        taken = Reading(len(self.readings) + 1, test, indication, self.as_written(placed_kg), pieces, stable=True)
        self.readings.append(replace(taken, **beside))
        return indication

    def truly(self, load: Decimal) -> float:
        """Return what the pieces of a load really weigh, in kilograms."""
        return true_load(self.weight_set, pieces_for(self.weight_set, load))

    def named(self, load: Decimal) -> tuple[str, ...]:
        """Return the pieces of a load as they are written down."""
        return tuple(self.swapped.get(code, code) for code in pieces_for(self.weight_set, load))

    def as_written(self, load: Decimal | None) -> Mass | None:
        """Return a load as it is written down: in grams beside a balance, else in kilograms."""
        if load is None or self.scale.unit != "g":
            return None if load is None else kilograms(load)
        return Mass((load * 1000).normalize() + Decimal(0), "g")

    def placing_of(self, load: Decimal) -> Placed:
        """Return how a load stands: one piece in the middle, or several beside each other."""
        return "one body centred" if len(pieces_for(self.weight_set, load)) == 1 else "spread"

    def add_little(self, load: Decimal) -> None:
        """Add 1.4 divisions to a load at rest, just below a change-over, and write down the display before and after."""
        felt = self.scale.just_below_change_over(self.scale.felt(self.truly(load)))
        in_use = range_in_use(self.scale.scale, self.scale.unit, load)
        self.write(
            "discrimination",
            self.scale.shown(felt + float(_ADDED_DIVISIONS * in_use.d_kg)),
            load,
            placed=self.placing_of(load),
            before=self.scale.shown(felt),
            added=Mass((_ADDED_DIVISIONS * in_use.d).normalize(), in_use.unit),
        )
