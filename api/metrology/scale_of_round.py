"""One scale of a round: the loads its plan asks pieces for, and the heaviest of them held to the most the pieces make.

The loads going up are a series; beside them stand those of the corners, of the repeated weighings, and of the kind's own
steps. What carries too little for one of these sends a person back for a piece.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Final

from api.metrology.kinds_of_plan import PLAN_OF
from api.metrology.piece_search import Need, can_be_made, sums_of
from api.metrology.pieces_for_loads import WantedLoad, need_of
from api.metrology.plan import top_of
from api.metrology.plan_extras import wanted_of
from api.metrology.plan_loads import points_of
from api.metrology.plan_places import load_of_corners, load_of_repeats
from api.metrology.plan_sheet import Sheet
from api.metrology.plan_steps import PlanFacts
from api.metrology.policy import Policy
from api.metrology.refusals import Refusal
from api.metrology.stock import Stock
from api.metrology.top_load import TopLoad
from api.metrology.ways_shown import top_in, ways_shown

# So many sums near a heaviest load are tried before any within 2 % is taken.
MOST_TRIED: Final = 50


@dataclass(frozen=True, slots=True)
class ScaleOfRound:
    """A scale of the round: its loads going up, ascending, its top load in kg, why it has none where it has none, and the
    other loads of its plan."""

    facts: PlanFacts
    wanted: tuple[WantedLoad, ...]
    top_kg: Decimal
    cannot: str | None = None
    others: tuple[WantedLoad, ...] = ()


def scale_of_round(facts: PlanFacts, stock: Stock) -> ScaleOfRound:
    """Return a scale with the loads of its plan in kilograms; where none can be told, the sentence that says why.

    The heaviest load that the stock can make is held to the sum nearest to it: a scale is proven up to what was placed, and
    two per cent less to carry would be two per cent less proven.
    """
    kind = PLAN_OF[facts.scale.kind]
    try:
        top = top_of(facts, kind)
        sheet = Sheet(replace(facts, pieces=None))
        sheet.stock = stock
        wanted = _series(sheet, top)
        others = sorted(set(_others(facts, sheet, top)) - set(wanted), key=_by_load)
    except Refusal as refusal:
        return ScaleOfRound(facts, (), Decimal(0), refusal.sentence)
    return ScaleOfRound(facts, tuple(held_to_most(wanted, stock, facts.policy)), top.kg, None, tuple(others))


def _series(sheet: Sheet, top: TopLoad) -> list[WantedLoad]:
    """The loads going up in the plan's unit, those of every range of a multiple-range instrument together."""
    wanted: dict[WantedLoad, None] = {}
    for way in ways_shown(sheet.facts.scale, sheet.plan_unit):
        if way.unit == sheet.plan_unit:
            sheet.show(way)
            typical = PLAN_OF[way.scale.kind].typical
            wanted |= dict.fromkeys(
                sheet.wanted(p.kg, p.never_above) for p in points_of(sheet, top_in(way, top), typical) if p.kg
            )
    return sorted(wanted, key=_by_load)


def _by_load(load: WantedLoad) -> tuple[Decimal, bool, tuple[Decimal, Decimal]]:
    return load.target_kg, load.never_above, load.window_kg


def _others(facts: PlanFacts, sheet: Sheet, top: TopLoad) -> Iterator[WantedLoad]:
    """The loads of the corners, of the repeated weighings, of the kind's own steps, and of every further unit."""
    kind = PLAN_OF[facts.scale.kind]
    if kind.places:
        yield sheet.wanted_at_corners(load_of_corners(sheet.facts, kind, top))
    yield sheet.wanted(load_of_repeats(kind, top), never_above=True)
    yield from wanted_of(sheet, kind, top)
    for way in ways_shown(facts.scale, facts.unit):
        if way.unit != facts.unit:
            sheet.show(way)
            yield from (sheet.wanted(p.kg, p.never_above) for p in points_of(sheet, top_in(way, top)) if p.kg)


def held_to_most(wanted: Sequence[WantedLoad], stock: Stock, policy: Policy) -> Iterator[WantedLoad]:
    """Give ascending loads again, the heaviest that can be made held to the one sum nearest to it that is fine enough."""
    able = [load for load in wanted if can_be_made(need_of(load, stock, policy), stock)[0] is not None]
    for load in wanted:
        yield _to_the_nearest(load, stock, policy) if able and load is able[-1] else load


def _to_the_nearest(load: WantedLoad, stock: Stock, policy: Policy) -> WantedLoad:
    """A load held to the nearest sum that can be made finely enough; as it was where none of those tried can."""
    need = need_of(load, stock, policy)
    for mass in _nearest_first(need, stock):
        if can_be_made(Need(mass, mass, mass, need.limit, load.target_kg), stock)[0] is not None:
            return replace(load, within_kg=(stock.kilograms(mass),) * 2)
    return load


def _nearest_first(need: Need, stock: Stock) -> list[int]:
    """The sums in a window, the nearest first, the higher of two; none where the set of all sums would be too large."""
    sums = (sums_of(stock.counts, stock, need.high) or 0) >> need.low
    found: list[int] = []
    while sums:
        step = (sums & -sums).bit_length() - 1
        found.append(found[-1] + 1 + step if found else need.low + step)
        sums >>= step + 1
    found.sort(key=lambda mass: (abs(stock.kilograms(mass) - need.target_kg), -mass))
    return found[:MOST_TRIED]
