"""How an invented scale behaves: span drift, gravity, corners, a bend, hysteresis, creep, repeatability, rounding to d.

The workings are floats, as physics is; what the display shows is counted out in whole divisions. Chance comes from the
random generator handed in, so that the same seed shows the same display.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from random import Random

from api.demo.models import POSITIONS
from api.metrology.load_places import FOUR, place_on, share_of, supports_of
from api.metrology.mass import Mass, factor_of
from api.metrology.scale import Scale, display_range
from api.metrology.terms import Position


@dataclass(frozen=True, slots=True)
class Character:
    """What one scale is like: span at its first visit and its drift, corners, bend, spread and hysteresis.

    Span and corners in parts per million of the load, drift in parts per million a year; spread (one standard deviation
    at capacity), hysteresis and creep (at capacity, in the end) in divisions. Above `bends_at_kg` the span changes by
    `bend_ppm`.
    """

    span_ppm: float = 0.0
    drift_ppm_a_year: float = 0.0
    corners_ppm: Mapping[Position, float] = field(default_factory=dict)
    spread_divisions: float = 0.3
    hysteresis_divisions: float = 0.15
    bends_at_kg: float = 1e9
    bend_ppm: float = 0.0
    creep_divisions: float = 0.25


@dataclass(slots=True)
class SimulatedScale:
    """One scale in front of the technician: its model, its character, its span on the day, its unit, and its luck."""

    scale: Scale
    character: Character
    span_ppm: float
    unit: str
    luck: Random

    @property
    def capacity_kg(self) -> float:
        """Max in the unit shown, in kilograms."""
        return float(self.scale.ranges_in(self.unit)[-1].max_kg)

    @property
    def finest_kg(self) -> float:
        """The division of the first range in the unit shown, in kilograms."""
        return float(self.scale.ranges_in(self.unit)[0].d_kg)

    def felt(self, load_kg: float, position: Position | None = None, unloading: bool = False) -> float:
        """Return what the cells make of a load in kilograms, before the display rounds it."""
        value = load_kg * self.gain(position)
        value += max(0.0, load_kg - self.character.bends_at_kg) * self.character.bend_ppm * 1e-6
        share = min(1.0, load_kg / self.capacity_kg)
        if unloading:
            value += self.character.hysteresis_divisions * self.finest_kg * 4 * share * (1 - share)
        return value + self.luck.gauss(0.0, self.spread_kg(load_kg))

    def gain(self, position: Position | None = None) -> float:
        """Return what a kilogram is felt as at a place: 1 and the errors of span and corners."""
        return 1 + (self.span_ppm + self._corner_ppm(position)) * 1e-6

    def spread_kg(self, load_kg: float) -> float:
        """Return one standard deviation of a weighing at a load, in kilograms."""
        share = min(1.0, load_kg / self.capacity_kg)
        return self.character.spread_divisions * self.finest_kg * (0.3 + 0.7 * share)

    def crept(self, load_kg: float, minutes: float) -> float:
        """Return by how much the display goes on rising under a load left alone, in kilograms: fast at first, then slowly.

        An exponential with a time constant of 12 minutes: an invented spring, no source.
        """
        share = min(1.0, load_kg / self.capacity_kg)
        return self.character.creep_divisions * self.finest_kg * share * (1 - math.exp(-minutes / 12))

    def _corner_ppm(self, position: Position | None) -> float:
        """A load on the centre, or spread, rests on all corners alike; one on a quarter mostly on the nearest.

        The chair's places lie between its supports: each is taken as a support of its own.
        """
        corners = self.character.corners_ppm
        if position is None or position == "centre":
            return sum(corners.values()) / FOUR
        numbered = any(name.startswith("support") for name in POSITIONS[self.scale.kind])
        at = dict(supports_of(self.scale.kind, numbered))
        load = place_on(self.scale.kind, position)
        if position not in at or load is None:
            return corners.get(position, 0.0)
        return sum(share_of(at[name], load) * ppm for name, ppm in corners.items())

    def just_below_change_over(self, value_kg: float) -> float:
        """Return a value in kilograms that shows the same as one given, 0.05 of a division below the change of display."""
        shown = self.shown(value_kg)
        division = display_range(self.scale, self.unit, shown.kg).d_kg
        return float(shown.kg) + 0.45 * float(division)

    def added_to_change_over(self, value_kg: float) -> Mass:
        """Return the small weights that bring the display to its next higher value, in tenths of that step."""
        shown = self.shown(value_kg)
        here = display_range(self.scale, self.unit, shown.kg)
        step = display_range(self.scale, self.unit, shown.kg + here.d_kg)
        tenth = float(step.d_kg) / 10
        count = math.ceil((float(shown.kg) + 5 * tenth - value_kg) / tenth - 1e-6)
        return Mass(max(0, count) * step.d / 10, self.unit)

    def shown(self, value_kg: float) -> Mass:
        """Return the display for what the cells feel: whole divisions of the range in use, in the unit shown."""
        value = value_kg / float(factor_of(self.unit))
        division = self.scale.ranges_in(self.unit)[0].d
        rounded = round(value / float(division)) * division
        division = display_range(self.scale, self.unit, rounded * factor_of(self.unit)).d
        return Mass(_counted(round(value / float(division)), division), self.unit)

    def zero_found(self) -> Mass:
        """Return the display as it was found with nothing on it: now and then a division away from zero."""
        away = self.luck.random()
        count = 1 if away < 0.04 else -1 if away < 0.08 else 0
        return Mass(_counted(count, self.scale.ranges_in(self.unit)[0].d), self.unit)

    def zero_set(self) -> Mass:
        """Return the display after its zero key was pressed."""
        return Mass(_counted(0, self.scale.ranges_in(self.unit)[0].d), self.unit)


def _counted(count: int, division: Decimal) -> Decimal:
    return count * division


def gravity_ppm(here: Decimal, where_adjusted: Decimal) -> float:
    """Return how much heavier a load reads where gravity differs from the place of the adjustment, in ppm.

    >>> round(gravity_ppm(Decimal("9.796340"), Decimal("9.801327")), 1)
    -508.8
    """
    return float((here - where_adjusted) / where_adjusted) * 1e6
