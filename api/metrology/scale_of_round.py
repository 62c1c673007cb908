"""One scale of a round: the loads its plan asks pieces for, and the heaviest of them held to the most the pieces make.

The loads going up are a series; beside them stand those of the corners, of the repeated weighings, and of the kind's own
steps. What carries too little for one of these sends a person back for a piece.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Final

from api.metrology.eccentric_load import eccentric_load
from api.metrology.kinds_of_plan import PLAN_OF
from api.metrology.load_points import load_points
from api.metrology.mass import EXACT
from api.metrology.piece_search import Need, can_be_made, sums_of
from api.metrology.pieces_for_loads import WantedLoad, need_of
from api.metrology.plan import with_all_pieces
from api.metrology.plan_sheet import Sheet
from api.metrology.plan_steps import PlanFacts
from api.metrology.policy import Policy
from api.metrology.refusals import Refusal
from api.metrology.stock import Stock, plain
from api.metrology.top_load import TopLoad, top_load

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
        top = top_load(
            facts.scale, facts.unit, facts.heaviest_used_kg, facts.safe_working_load_kg, Decimal(kind.dead_load_kg)
        )
        sheet = Sheet(replace(facts, pieces=None))
        sheet.stock = stock
        points = load_points(facts.scale, facts.as_found, facts.unit, top, kind.typical)
        wanted = [sheet.wanted(p.kg, p.never_above) for p in with_all_pieces(sheet, points) if p.kg]
        others = sorted(set(_others(facts, sheet, top)) - set(wanted), key=_by_load)
    except Refusal as refusal:
        return ScaleOfRound(facts, (), Decimal(0), refusal.sentence)
    return ScaleOfRound(facts, tuple(held_to_most(wanted, stock, facts.policy)), top.kg, None, tuple(others))


def _by_load(load: WantedLoad) -> tuple[Decimal, bool, tuple[Decimal, Decimal]]:
    return load.target_kg, load.never_above, load.window_kg


def _others(facts: PlanFacts, sheet: Sheet, top: TopLoad) -> Iterator[WantedLoad]:
    kind = PLAN_OF[facts.scale.kind]
    if kind.places:
        cap = Decimal(kind.eccentric_most_kg) if kind.eccentric_most_kg else None
        yield sheet.wanted_at_corners(eccentric_load(facts.scale, facts.as_found, facts.unit, top.limit_kg, cap))
    repeated = min(Decimal(kind.repeat_kg), top.kg) if kind.repeat_kg else EXACT.multiply(top.kg, Decimal("0.8"))
    yield sheet.wanted(plain(repeated), never_above=True)
    for extra in kind.extras:
        if extra.load_kg is not None:
            yield sheet.wanted(min(Decimal(extra.load_kg), top.limit_kg))


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
