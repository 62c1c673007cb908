"""The ways in which a scale shows a load: each displayed unit, and on a multiple-range instrument each range selected.

A tolerance belongs to the unit in use and to the range in use (NIST HB 44 2.20 T.N.2.4; OIML R 76-1:2006 3.2 and 3.4, from
memory): a pass in pounds is none in kilograms, and a pass in the coarse range none in the fine one.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from api.metrology.scale import Scale
from api.metrology.top_load import TopLoad


@dataclass(frozen=True, slots=True)
class WayShown:
    """A displayed unit with the scale as it is then, and the number of the range selected (1 is the finest)."""

    scale: Scale
    unit: str
    selected: int | None = None


def ways_shown(scale: Scale, first_unit: str) -> tuple[WayShown, ...]:
    """Return every way in which a scale shows a load: the unit of the plan first, each unit's ranges ascending by Max."""
    units = sorted(scale.by_unit, key=lambda unit: unit != first_unit)
    return tuple(way for unit in units for way in _of_unit(scale, unit))


def _of_unit(scale: Scale, unit: str) -> Iterator[WayShown]:
    if scale.arrangement != "multiple-range":
        yield WayShown(scale, unit)
        return
    for number, one in enumerate(scale.ranges_in(unit), start=1):
        yield WayShown(replace(scale, arrangement="single", ranges=(one,)), unit, number)


def top_in(way: WayShown, top: TopLoad) -> TopLoad:
    """Return the top load of a way shown: Max of the range selected where that is less than the scale's top load."""
    most = way.scale.ranges_in(way.unit)[-1].max_kg
    if way.selected is None or most >= top.kg:
        return top
    return TopLoad(most, f"Max of range {way.selected}", "scale's plate", min(most, top.limit_kg))
