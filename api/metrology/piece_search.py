"""The search for pieces that make a load: every choice of few pieces first, and the set of all sums beside it.

A stock is searched by counts of each nominal mass. `pieces_for_loads` asks, and says in words what was found.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from itertools import islice
from typing import Final

from api.metrology.mass import EXACT
from api.metrology.stock import Counts, Stock

# A search ends here whatever the stock, so that no stock can hold a worker up; the answer says that it ended.
MOST_STEPS: Final = 20_000


@dataclass(frozen=True, slots=True)
class Need:
    """A load as the search sees it, in whole units of a stock: least, target and greatest sum, and the most the bounds may
    come to.

    `target` is rounded down; how near a choice comes is told from `target_kg`, which may lie between two units.
    """

    low: int
    target: int
    high: int
    limit: int
    target_kg: Decimal


def fewest_pieces(need: Need, stock: Stock) -> tuple[Counts | None, bool]:
    """Return the best choice for a need, None where there is none, and whether the search ended before it was sure.

    Proof: every choice with k pieces whose sum lies in the window and whose bounds keep the limit is looked at before any
    with k + 1 (`choices`), so the first k that has one is the fewest, and the best of that k is the best of all.
    Complexity: at worst the number of choices of up to k pieces; what cannot come into the window with k pieces, or not
    within the limit, is cut off; a window that holds no sum at all is known beforehand from the set of all sums. After
    `MOST_STEPS` the search ends: what was found has the fewest pieces still, but another of as many may be nearer.
    """
    sums = sums_of(stock.counts, stock, need.high)
    if sums is not None and not sums >> need.low:
        return None, False
    walk = _Walk(need, stock)
    for pieces in range(sum(stock.counts) + 1):
        best = min(
            walk.choices(pieces),
            key=lambda c: (_distance_kg(stock.mass_of(c), need, stock), stock.bound_of(c), tuple(-n for n in c)),
            default=None,
        )
        if best is not None or walk.ended:
            return best, walk.ended
    return None, False


def _distance_kg(mass: int, need: Need, stock: Stock) -> Decimal:
    return EXACT.subtract(stock.kilograms(mass), need.target_kg).copy_abs()


def choices(need: Need, stock: Stock, most_pieces: int, most: int) -> tuple[list[Counts], bool]:
    """Return choices for a need of up to so many pieces, those with fewer pieces first, and whether these are all."""
    walk = _Walk(need, stock)
    sizes = range(min(most_pieces, sum(stock.counts)) + 1)
    found = list(islice((choice for pieces in sizes for choice in walk.choices(pieces)), most + 1))
    return found[:most], len(found) <= most and not walk.ended


def can_be_made(need: Need, stock: Stock) -> tuple[Counts | None, bool]:
    """Return the first choice for a need in the search's order, None where there is none, and whether the search ended."""
    sums = sums_of(stock.counts, stock, need.high)
    if sums is not None and not sums >> need.low:
        return None, False
    walk = _Walk(need, stock)
    for pieces in range(sum(stock.counts) + 1):
        found = next(walk.choices(pieces), None)
        if found is not None or walk.ended:
            return found, found is None
    return None, False


class _Walk:
    """Depth first through the counts of each nominal mass, the heaviest first, for a given number of pieces."""

    def __init__(self, need: Need, stock: Stock) -> None:
        self.need, self.stock = need, stock
        self.steps = 0
        self.left = [sum(stock.counts[place:]) for place in range(len(stock.masses) + 1)]
        self.finest = [_finest(stock, place) for place in range(len(stock.masses))]
        self.heaviest = [_runs(stock, place) for place in range(len(stock.masses))]

    @property
    def ended(self) -> bool:
        """Whether the search ended before it was through."""
        return self.steps >= MOST_STEPS

    def choices(self, pieces: int) -> Iterator[Counts]:
        """Give every choice of exactly so many pieces that serves."""
        yield from self._from(0, pieces, 0, 0, ())

    def _from(self, place: int, pieces: int, mass: int, bound: int, taken: Counts) -> Iterator[Counts]:
        need, stock = self.need, self.stock
        if not pieces:
            if need.low <= mass <= need.high and bound <= need.limit:
                yield taken + (0,) * (len(stock.masses) - place)
            return
        if not self._may_serve(place, pieces, mass, bound):
            return
        sums, unit = stock.bounds[place], stock.masses[place]
        for count in range(min(pieces, len(sums) - 1), -1, -1):
            if mass + count * unit <= need.high and bound + sums[count] <= need.limit:
                self.steps += 1
                yield from self._from(
                    place + 1, pieces - count, mass + count * unit, bound + sums[count], (*taken, count)
                )

    def _may_serve(self, place: int, pieces: int, mass: int, bound: int) -> bool:
        """Whether so many more pieces, none heavier than this place's, can still come into the window and the limit."""
        if place == len(self.stock.masses) or self.left[place] < pieces or self.ended:
            return False
        if mass + _most(self.heaviest[place], pieces) < self.need.low:
            return False
        if mass + pieces * self.stock.masses[-1] > self.need.high:
            return False
        finest_bound, finest_mass = self.finest[place]
        return (self.need.low - mass) * finest_bound <= (self.need.limit - bound) * finest_mass


def _finest(stock: Stock, place: int) -> tuple[int, int]:
    """The error bound and the mass of the piece with the least bound for its mass from this place on: no choice of these
    pieces has less bound for its mass."""
    held = [(stock.bounds[p][1], stock.masses[p]) for p in range(place, len(stock.masses))]
    best = held[0]
    for bound, mass in held[1:]:
        if bound * best[1] < best[0] * mass:
            best = bound, mass
    return best


def _runs(stock: Stock, place: int) -> tuple[tuple[int, int], ...]:
    return tuple(zip(stock.counts[place:], stock.masses[place:], strict=True))


def _most(runs: tuple[tuple[int, int], ...], pieces: int) -> int:
    """What the heaviest so many pieces weigh."""
    mass = 0
    for count, each in runs:
        taken = min(count, pieces)
        mass += taken * each
        pieces -= taken
        if not pieces:
            break
    return mass


def nearest_sum(need: Need, stock: Stock) -> int | None:
    """Return the sum of pieces nearest to a target, the lower of two, whatever the bounds; None where there is none.

    By the set of all sums up to twice the target, one bit a unit: as many shifts as there are pieces.
    """
    sums = sums_of(stock.counts, stock, 2 * need.target if need.high > need.target else need.target)
    if sums is None:
        return None
    below, above = (sums & ((1 << (need.target + 1)) - 1)).bit_length() - 1, sums >> (need.target + 1)
    least_above = need.target + (above & -above).bit_length() if above else None
    if least_above is not None and (
        below <= 0 or _distance_kg(least_above, need, stock) < _distance_kg(below, need, stock)
    ):
        return least_above
    return below or None


# The set of sums is kept as one whole number of at most so many bits; beyond, the pieces have no common unit worth it.
MOST_BITS: Final = 4_000_000


def sums_of(counts: Counts, stock: Stock, most: int) -> int | None:
    """Return the set of all sums up to `most` that a choice's pieces make: bit n is set where n units can be made.

    None where the set would need too many bits.
    """
    if most > MOST_BITS:
        return None
    keep, sums = (1 << (most + 1)) - 1, 1
    for count, mass in zip(counts, stock.masses, strict=True):
        sums = with_pieces(sums, count, mass) & keep
    return sums


def with_pieces(sums: int, count: int, mass: int) -> int:
    """Return a set of sums with so many pieces of one mass added; 1, 2, 4 ... at a time, so that few shifts do."""
    step = 1
    while count > 0:
        part = min(step, count)
        sums |= sums << (part * mass)
        count -= part
        step *= 2
    return sums
