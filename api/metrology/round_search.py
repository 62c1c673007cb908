"""Which pieces to take so that every one of many loads can be made of them: least mass, then fewest pieces.

A choice is one count for each nominal mass, the finest first (`stock` says why that is enough: the same exchange of a piece
for a finer one leaves mass, number and lifts as they are, and makes no load impossible). So copies are never told apart.

Proof. The counts are decided one nominal mass after the other, the heaviest first, every count being tried. A branch is
left only where no choice in it can serve or be better: (1) a load cannot be made of what is decided and everything
undecided, since taking more never makes a load impossible (asked in sums of masses first, then with the error bounds); (2)
the mass of any choice in it is at least what is decided and what the neediest load still lacks, that is its least sum less
the greatest sum of decided pieces that does not exceed its greatest, and never less than the heaviest load; (3) the same
for the number of pieces, as if all that is lacking were made of the heaviest undecided piece. With nothing undecided (1) is
whether the choice serves. So where the search comes to its end, the choices it returns are all those of least mass and then
of fewest pieces.

Complexity: at worst the product of the counts plus one. Sums of decided pieces are kept as one whole number a load, one bit a
step of 1/8192 of the load: masses are rounded down to steps and windows widened by all that was rounded off, so (1) and (2)
may keep a branch that cannot serve, and never leave one that can. A search ends after a number of
looks, counted and not timed, so that the same question has the same answer. Up to 24 pieces and 12 loads it may take many:
of 40 rounds drawn at random the hardest, of 24 odd masses, took 392 112, and none of a set's usual masses more than 600.
Where it ended, the least total that any choice left unseen could have is known from (2).
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from api.metrology.piece_search import Need, can_be_made, with_pieces
from api.metrology.stock import Counts, Stock

EXACT_PIECES: Final = 24
EXACT_LOADS: Final = 12
# Looks at one load in one branch after which a search ends: up to the sizes above, and beyond them.
MOST_LOOKS_FOR_EXACT: Final = 500_000
MOST_LOOKS: Final = 120_000
# Choices with the same mass and number of pieces that are kept; beyond, only these are compared by their lifts.
MOST_EQUALS: Final = 100
# Choices remembered for each load.
MOST_REMEMBERED: Final = 60
_STEPS_OF_A_LOAD: Final = 8192


@dataclass(frozen=True, slots=True)
class Taken:
    """The best choices found: all of the same mass and number, in whole units of the stock. `least` is what no choice can be
    below; the choices are proven the best where `proven`, and all of the best are here where `all_equals`."""

    choices: tuple[Counts, ...]
    mass: int
    least: int
    proven: bool
    all_equals: bool


@dataclass(frozen=True, slots=True)
class _Seen:
    """A load in steps: step in units, least and greatest sum in steps, and how many pieces of each mass can be in it."""

    need: Need
    step: int
    low: int
    high: int
    usable: Counts
    steps_of: tuple[int, ...]


def fewest_to_take(needs: Iterable[Need], stock: Stock) -> Taken:
    """Return the choices of least mass, then fewest pieces, of which each of the needs can be made.

    Every need must be one that the whole stock can make; otherwise no choice is returned.
    """
    kept = hardest(needs)
    if not kept:
        return Taken(((0,) * len(stock.masses),), 0, 0, True, True)
    return _Search(kept, stock, _limit(kept, stock)).run()


def _limit(needs: Sequence[Need], stock: Stock) -> int:
    small = sum(stock.counts) <= EXACT_PIECES and len(needs) <= EXACT_LOADS
    return MOST_LOOKS_FOR_EXACT if small else MOST_LOOKS


def hardest(needs: Iterable[Need]) -> list[Need]:
    """Return the needs without those that another implies: a window within theirs and a limit no greater.

    In an order of their own, so that the order in which they were asked changes nothing.
    """
    asked = {(n.high, n.low, n.limit): n for n in sorted(needs, key=lambda n: n.target_kg)}
    return [
        asked[a] for a in sorted(asked, reverse=True)
        if not any(b != a and a[1] <= b[1] and b[0] <= a[0] and b[2] <= a[2] for b in asked)
    ]  # fmt: skip


class _Search:
    def __init__(self, needs: Sequence[Need], stock: Stock, limit: int) -> None:
        self.stock, self.limit = stock, limit
        self.seen = [_in_steps(need, stock) for need in needs]
        self.floor = max((need.low for need in needs), default=0)
        self.rest = [sum(n * m for n, m in _runs(stock, at)) for at in range(len(stock.masses) + 1)]
        self.witnesses: list[list[int]] = [[] for _ in needs]
        self.refuted: list[list[int]] = [[] for _ in needs]
        self.looks, self.least_left = 0, self.rest[0] + 1
        self.cut = self.unsure = self.too_many = False
        self.best: tuple[int, int] = (self.rest[0] + 1, 0)
        self.equals: list[Counts] = []

    def run(self) -> Taken:
        """Return what was found."""
        if not self._serves(self.stock.counts):
            return Taken((), 0, 0, not self.unsure, not self.unsure)
        self._keep(self._thinned())
        self._from(0, (), 0, 0, [1] * len(self.seen))
        mass = self.best[0]
        left = min(mass, self.least_left)
        sure = not self.cut and not self.unsure
        return Taken(
            tuple(sorted(set(self.equals), reverse=True)), mass, self.floor if self.unsure else left, sure,
            sure and not self.too_many,
        )  # fmt: skip

    def _thinned(self) -> Counts:
        """All pieces less those, the heaviest first, without which every load can still be made: a first choice."""
        counts = list(self.stock.counts)
        for place in range(len(counts)):
            while counts[place] and self._serves((*counts[:place], counts[place] - 1, *counts[place + 1 :])):
                counts[place] -= 1
        return tuple(counts)

    def _serves(self, counts: Counts) -> bool:
        """Whether every load can be made of a choice. Choices that made a load, and lots that could not, are remembered: what
        holds a made choice makes it too, and what is within a lot that could not cannot either."""
        lot, part = self._mask(counts), None
        if any(lot & ~lacking == 0 for held in self.refuted for lacking in held):
            return False
        for at, seen in enumerate(self.seen):
            if any(made & ~lot == 0 for made in self.witnesses[at]):
                continue
            part = part or self.stock.part(counts)
            found, ended = can_be_made(seen.need, part)
            self.unsure |= ended
            if found is None:
                self.refuted[at].insert(0, lot)
                del self.refuted[at][MOST_REMEMBERED:]
                return False
            used = iter(found)
            self.witnesses[at].insert(0, self._mask(tuple(next(used) if n else 0 for n in counts)))
            del self.witnesses[at][MOST_REMEMBERED:]
        return True

    def _mask(self, counts: Counts) -> int:
        """A choice as one bit a piece, the finest of each mass first: one choice holds another where its bits do."""
        mask = 0
        for count, most in zip(counts, self.stock.counts, strict=True):
            mask = mask << most | ((1 << count) - 1)
        return mask

    def _keep(self, counts: Counts) -> None:
        worth = self.stock.mass_of(counts), sum(counts)
        if worth < self.best:
            self.best, self.equals, self.too_many = worth, [], False
        if worth == self.best and counts not in self.equals:
            self.too_many |= len(self.equals) == MOST_EQUALS
            self.equals = self.equals[:MOST_EQUALS] if self.too_many else [*self.equals, counts]

    def _from(self, place: int, taken: Counts, mass: int, pieces: int, sums: list[int]) -> None:
        """Try every count of one nominal mass, those first whose least total is least."""
        if place == len(self.stock.masses):
            self._keep(taken)
            return
        branches = sorted(self._branches(place, taken, mass, pieces, sums))
        for least, fewest, count, further in branches:
            if (least, fewest) > self.best:
                continue
            if self.looks >= self.limit:
                self._leave(least)
                continue
            each = self.stock.masses[place]
            self._from(place + 1, (*taken, count), mass + count * each, pieces + count, further)

    def _leave(self, least: int) -> None:
        self.cut = True
        self.least_left = min(self.least_left, least)

    def _branches(
        self, place: int, taken: Counts, mass: int, pieces: int, sums: list[int]
    ) -> Iterator[tuple[int, int, int, list[int]]]:
        """The counts that may serve: least total, fewest pieces, the count, and the sums with it."""
        each = self.stock.masses[place]
        for count in range(self.stock.counts[place] + 1):
            decided = mass + count * each
            if decided > self.best[0] or decided + self.rest[place + 1] < self.floor:
                continue
            further = self._with(place, count, sums)
            lacking = self._lacking(place, count, further)
            if lacking is None:
                continue
            if (decided + lacking, 0) > self.best or not self._may_serve(place, (*taken, count)):
                continue
            lacking = max(lacking, self.floor - decided)
            after = self.stock.masses[place + 1] if lacking > 0 and place + 1 < len(self.stock.masses) else 1
            yield decided + max(lacking, 0), pieces + count + (-(-max(lacking, 0) // after)), count, further

    def _may_serve(self, place: int, taken: Counts) -> bool:
        """Whether every load can be made of what is decided and everything undecided; nothing new where all are taken."""
        return taken[-1] == self.stock.counts[place] or self._serves((*taken, *self.stock.counts[place + 1 :]))

    def _with(self, place: int, count: int, sums: list[int]) -> list[int]:
        return [
            with_pieces(held, min(count, s.usable[place]), s.steps_of[place]) & ((1 << (s.high + 1)) - 1)
            if count and s.usable[place] else held
            for s, held in zip(self.seen, sums, strict=True)
        ]  # fmt: skip

    def _lacking(self, place: int, count: int, sums: list[int]) -> int | None:
        """The most that a load still lacks of undecided pieces, in units; None where a load cannot be made any more."""
        most = 0
        for seen, held in zip(self.seen, sums, strict=True):
            self.looks += 1
            lacks = seen.low - (held.bit_length() - 1)
            if lacks > 0:
                most = max(most, lacks * seen.step)
            # Where all that can be used is taken, nothing became impossible that was possible before.
            if count < seen.usable[place] and not self._reachable(seen, held, place + 1):
                return None
        return None if most > self.rest[place + 1] else most

    def _reachable(self, seen: _Seen, held: int, place: int) -> bool:
        keep = (1 << (seen.high + 1)) - 1
        for at in range(place, len(self.stock.masses)):
            if held >> seen.low:
                return True
            if seen.usable[at]:
                held = with_pieces(held, seen.usable[at], seen.steps_of[at]) & keep
        return bool(held >> seen.low)


def _runs(stock: Stock, place: int) -> Iterator[tuple[int, int]]:
    return zip(stock.counts[place:], stock.masses[place:], strict=True)


def _in_steps(need: Need, stock: Stock) -> _Seen:
    step = max(1, need.high // _STEPS_OF_A_LOAD)
    usable = tuple(
        min(need.high // mass, sum(1 for bound in sums[1:] if bound <= need.limit))
        for mass, sums in zip(stock.masses, stock.bounds, strict=True)
    )
    rounded_off = sum(n * (mass % step) for n, mass in zip(usable, stock.masses, strict=True))
    low = max(0, -(-(need.low - rounded_off) // step))
    return _Seen(need, step, low, need.high // step, usable, tuple(mass // step for mass in stock.masses))
