"""The pieces for a list of ascending loads, chosen together so that most steps only add: the fewest lifts of the series.

One lift is one piece put on or taken off by hand, once. A series begins and ends with nothing on the scale. Of the ways
with the fewest lifts the one that moves the fewest kilograms is taken, then the one nearest to the loads. Where a load
exactly as asked is worth a lift more, a load that is not counts as so many lifts.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise
from operator import mul, sub
from typing import Final

from api.metrology.lifting import Placement, moves_of
from api.metrology.mass import EXACT
from api.metrology.piece_search import Need, can_be_made, choices
from api.metrology.pieces_for_loads import (
    LoadMade,
    NotMade,
    WantedLoad,
    made_of,
    made_or_not,
    need_of,
)
from api.metrology.policy import Policy
from api.metrology.stock import Counts, Stock

# So many choices of one load are weighed against those of the next; beyond, the fewest lifts are bounded, not proven.
MOST_CHOICES: Final = 60


@dataclass(frozen=True, slots=True)
class LoadSeries:
    """Ascending loads with the pieces for each, and those that cannot be made.

    `lifts` and `moved_kg` count every piece put on or taken off, from the empty scale to the empty scale; no way has fewer
    lifts than `least_lifts`, and where both are the same, or `proven`, there is no better way.
    """

    made: tuple[LoadMade, ...]
    not_made: tuple[NotMade, ...]
    lifts: int
    moved_kg: Decimal
    least_lifts: int
    proven: bool


def pieces_for_loads(wanted: Sequence[WantedLoad], stock: Stock, policy: Policy, exact_worth: int = 0) -> LoadSeries:
    """Return the pieces for a list of loads, in ascending order, with the fewest lifts over the whole series.

    A load exactly as asked is worth `exact_worth` lifts more.

    Proof: a way through one choice a load is the shortest of all by the rule that a shortest way's beginning is itself a
    shortest way, over all choices that can be on a way no longer than the best found (a choice of k pieces costs 2 k lifts
    at least: they come from the empty scale and go back to it). Complexity: loads times the square of the choices, of which
    each load keeps `MOST_CHOICES` at most, those with the fewest pieces first; where more could matter the answer is not
    called proven, unless its lifts equal the least possible: twice the pieces of the load that needs most.
    """
    ascending = sorted(wanted, key=lambda w: w.target_kg)
    needs = [need_of(load, stock, policy) for load in ascending]
    firsts = [can_be_made(need, stock)[0] for need in needs]
    makeable = [
        (load, need, first) for load, need, first in zip(ascending, needs, firsts, strict=True) if first is not None
    ]
    unmade = [made_or_not(load, stock, policy) for load, first in zip(ascending, firsts, strict=True) if first is None]
    not_made = tuple(found for found in unmade if isinstance(found, NotMade))
    if not makeable:
        return LoadSeries((), not_made, 0, Decimal(0), 0, True)
    loads = [load for load, _, _ in makeable]
    most = _most_pieces([first for _, _, first in makeable], stock, exact_worth)
    held, all_held = _held_choices([need for _, need, _ in makeable], stock, most)
    way = _shortest_way(held, loads, stock, exact_worth)
    least = 2 * max(sum(first) for _, _, first in makeable)
    made = tuple(made_of(counts, load, stock) for counts, load in zip(way, loads, strict=True))
    moves = moves_of([Placement(load.pieces) for load in made], nominal_kg_of(stock))
    fewest = moves.lifts == least and not exact_worth
    return LoadSeries(made, not_made, moves.lifts, moves.kg, least, fewest or all_held)


def nominal_kg_of(stock: Stock) -> dict[str, Decimal]:
    """Return the nominal mass of every piece of a stock, in kilograms."""
    groups = zip(stock.masses, stock.codes, strict=True)
    return {code: stock.kilograms(mass) for mass, codes in groups for code in codes}


def _step(before: Counts, after: Counts, stock: Stock) -> tuple[int, int]:
    """Lifts and mass units of one step. Pieces of one nominal mass are taken finest first, so copies stay where they are."""
    moved = list(map(abs, map(sub, before, after)))
    return sum(moved), sum(map(mul, moved, stock.masses))


def _most_pieces(firsts: Sequence[Counts], stock: Stock, exact_worth: int) -> int:
    """The most pieces a load of any better way has: the way through each load's first choice, one with its fewest pieces,
    bounds its cost, were none of its loads exact."""
    nothing = (0,) * len(stock.masses)
    lifts = sum(_step(a, b, stock)[0] for a, b in pairwise([nothing, *firsts, nothing]))
    return (lifts + exact_worth * len(firsts)) // 2


def _held_choices(needs: Sequence[Need], stock: Stock, most: int) -> tuple[list[list[Counts]], bool]:
    """The choices of each load that are weighed, and whether no other could be on a better way."""
    held, all_held = [], True
    for need in needs:
        kept, complete = choices(need, stock, most, MOST_CHOICES)
        all_held = all_held and complete
        held.append(kept)
    return held, all_held


_Cost = tuple[int, int, Decimal]


@dataclass(frozen=True, slots=True)
class _Way:
    """A way up to one choice: what it costs, the choice it ends at with its number of pieces, and all its choices."""

    cost: _Cost
    end: Counts
    pieces: int
    choices: tuple[Counts, ...]


def _shortest_way(
    held: list[list[Counts]], wanted: Sequence[WantedLoad], stock: Stock, exact_worth: int
) -> list[Counts]:
    """One choice a load: fewest lifts, then least mass moved, then least distance from the targets, then the first."""
    nothing = (0,) * len(stock.masses)
    ways = [_Way((0, 0, Decimal(0)), nothing, 0, ())]
    for load, kept in zip(wanted, held, strict=True):
        further = []
        for choice in kept:
            off = abs(EXACT.subtract(stock.kilograms(stock.mass_of(choice)), load.target_kg))
            (lifts, mass, so_far), way = _best_to(choice, ways, stock)
            cost = lifts + (exact_worth if off else 0), mass, EXACT.add(so_far, off)
            further.append(_Way(cost, choice, sum(choice), (*way, choice)))
        ways = sorted(further, key=lambda way: way.cost)
    return list(_best_to(nothing, ways, stock)[1])


def _best_to(choice: Counts, ways: Sequence[_Way], stock: Stock) -> tuple[_Cost, tuple[Counts, ...]]:
    """The best of all ways so far, the cheapest first, with the step to a choice added; the distance of the choice itself is
    the same for all. A step takes as many lifts at least as the number of pieces changes by: what is dearer by that alone
    is passed over."""
    pieces = sum(choice)
    best: tuple[_Cost, tuple[Counts, ...]] | None = None
    for way in ways:
        lifts, mass, off = way.cost
        if best is not None and lifts + abs(pieces - way.pieces) > best[0][0]:
            continue
        more_lifts, more_mass = _step(way.end, choice, stock)
        found = (lifts + more_lifts, mass + more_mass, off), way.choices
        best = found if best is None else min(best, found)
    assert best is not None  # every load that is asked here has a choice
    return best
