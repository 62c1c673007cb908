"""The scale as the trade describes it: class, and ranges with Max, d and e for every unit it can show.

Ranges belong to a displayed unit: 600 lb is not 300 kg, and a tolerance in one says nothing in the other.
"""

from dataclasses import dataclass, field
from decimal import Decimal
from typing import Literal

from api.metrology.mass import EXACT, in_kilograms, label_of
from api.metrology.refusals import NoSuchRange, OffGrid, OverCapacity
from api.metrology.terms import AccuracyClass, Kind

# OIML R 76-1:2006 T.3.2.6 and T.3.2.7: the interval follows the load, or the range selected.
Arrangement = Literal["single", "multi-interval", "multiple-range"]


@dataclass(frozen=True, slots=True)
class Range:
    """One weighing range, or partial range: its unit, Max, division d, verification interval e, and Min if marked.

    Max, d and e are kept in kilograms beside, exact.
    """

    unit: str
    max: Decimal
    d: Decimal
    e: Decimal
    min: Decimal | None = None
    max_kg: Decimal = field(init=False, repr=False, compare=False)
    d_kg: Decimal = field(init=False, repr=False, compare=False)
    e_kg: Decimal = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        for name in ("max", "d", "e"):
            object.__setattr__(self, f"{name}_kg", in_kilograms(getattr(self, name), self.unit))

    def __hash__(self) -> int:
        """Max alone tells the ranges of a scale apart; equality still compares everything."""
        return hash(self.max)


@dataclass(frozen=True, slots=True)
class Scale:
    """A weighing instrument: its kind, class, supports and ranges (each unit's ranges ascending by Max).

    `additive_tare_kg` is what its tare device adds to Max (T+), nothing where tare is taken from the range.
    """

    kind: Kind
    accuracy_class: AccuracyClass
    arrangement: Arrangement
    ranges: tuple[Range, ...]
    supports: int = 4
    additive_tare_kg: Decimal = Decimal(0)
    by_unit: dict[str, tuple[Range, ...]] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        units = dict.fromkeys(r.unit for r in self.ranges)
        object.__setattr__(self, "by_unit", {unit: tuple(r for r in self.ranges if r.unit == unit) for unit in units})

    @property
    def is_balance(self) -> bool:
        """Whether it is a balance on a bench, for which the air around the weights matters."""
        return self.kind in ("pharmacy balance", "analytical balance")

    def ranges_in(self, unit: str) -> tuple[Range, ...]:
        """Return the ranges of one displayed unit; refuses a unit that the scale cannot show (`NoSuchRange`)."""
        found = self.by_unit.get(unit)
        if found is None:
            shown = ", ".join(sorted({label_of(r.unit) for r in self.ranges}))
            raise NoSuchRange(
                f"The scale has no range in {label_of(unit)}; it shows {shown}.", unit=unit, accepted=shown
            )
        return found


def capacity_in(scale: Scale, unit: str) -> Range:
    """Return the range that carries Max in a displayed unit."""
    return scale.ranges_in(unit)[-1]


def range_in_use(scale: Scale, unit: str, load_kg: Decimal, selected: int | None = None) -> Range:
    """Return the range whose d and e count at a load: by the load, or for multiple-range the one selected (1-based).

    HB 44 T.N.2.4 and R 76-1 3.3 and 3.4. A load exactly at a partial Max belongs to the finer range. Refuses a load
    above Max (`OverCapacity`) and a selection that is not there (`NoSuchRange`).
    """
    ranges = scale.ranges_in(unit)
    if scale.arrangement == "multiple-range" and selected is not None:
        if not 1 <= selected <= len(ranges):
            raise NoSuchRange(f"Range {selected} is not one of {len(ranges)}.", selected=str(selected))
        ranges = (ranges[selected - 1],)
    for candidate in ranges:
        if load_kg <= candidate.max_kg:
            return candidate
    top = ranges[-1]
    raise OverCapacity(
        f"A load of {load_kg:f} kg is above the capacity of {top.max:f} {label_of(unit)}.",
        load=f"{load_kg:f} kg",
        capacity=f"{top.max:f} {label_of(unit)}",
    )


def display_range(scale: Scale, unit: str, shown_kg: Decimal, selected: int | None = None) -> Range:
    """Return the range whose division a shown value must fit; above Max the last range goes on (R 76: Max + 9 e)."""
    try:
        return range_in_use(scale, unit, shown_kg.copy_abs(), selected)
    except OverCapacity:
        return scale.ranges_in(unit)[-1]


def beyond_display(in_use: Range, shown_kg: Decimal) -> OverCapacity | None:
    """Return the refusal of a value that no display shows, or None.

    A display ends at Max + 9 e (OIML R 76-1:2006 4.2.3) or at 105 % of Max (NIST HB 44 2.20 S.1.7, second hand): at the
    later of the two here, so that a scale of either kind is within its right.
    """
    if shown_kg <= max(in_use.max_kg + 9 * in_use.e_kg, in_use.max_kg * Decimal("1.05")):
        return None
    top = f"{in_use.max:f} {label_of(in_use.unit)}"
    return OverCapacity(
        f"The display of this scale ends a little above {top}: it cannot have shown so much.", capacity=top
    )


def grid_count(value: Decimal, division: Decimal) -> int:
    """Return how many divisions a shown value is; refuses a value between two divisions (`OffGrid`).

    >>> grid_count(Decimal("200.1"), Decimal("0.1"))
    2001
    """
    count, rest = divmod(value, division)
    if rest:
        raise OffGrid(
            f"{value:f} is not a multiple of the division {division:f}: the display cannot show it. Send the reading as "
            "shown, or say which extended resolution was switched on.",
            reading=f"{value:f}",
            division=f"{division:f}",
        )
    return int(count)


def least_load_proven(scale: Scale, unit: str) -> Decimal:
    """Return the marked Min in kilograms, or 0 where none is marked."""
    first = scale.ranges_in(unit)[0]
    return in_kilograms(first.min, first.unit) if first.min is not None else EXACT.create_decimal(0)
