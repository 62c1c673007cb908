"""The weights to take on a round of several scales: the lightest lot out of which every load of every scale can be made.

Asked first: every load of every scale that the pieces at hand can make at all: those going up, the heaviest of them held to
the most that can be placed (`scale_of_round`), those of the corners, of the repeated weighings and of the kind's own steps.
Then of all lots that make all of these, each within its window and its share of the tolerance: least total kilograms, then
fewest pieces, then fewest lifts over the round going up, then least kilograms moved; and of that lot the coarsest pieces
that do (`coarsest_lot`). The same pieces serve one scale after the other. `round_search` has the proof of the first two; the
lifts of a lot are those of `load_series`, added over the scales.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Final

from api.metrology.ballast import Ballast, ballast_for
from api.metrology.coarsest_lot import coarsest_lot
from api.metrology.lifting import LiftingIndex, lifting_index
from api.metrology.load_series import LoadSeries, nominal_kg_of, pieces_for_loads
from api.metrology.mass import EXACT
from api.metrology.pieces_for_loads import LoadMade, NotMade, WantedLoad, made_or_not, need_of
from api.metrology.policy import Policy
from api.metrology.round_search import Taken, fewest_to_take
from api.metrology.scale_of_round import ScaleOfRound
from api.metrology.stock import Counts, LeftOut, Stock

# So many series of loads are worked out to compare equal lots by their lifts; beyond, the first of them is taken.
MOST_SERIES: Final = 60


@dataclass(frozen=True, slots=True)
class ScaleServed:
    """What the lot does for one scale: its series of loads going up, the other loads of its plan, the greatest load made in
    kg, what ballast could add where it may stand on this kind, and the lifting index of the heaviest piece it is loaded
    with."""

    scale: ScaleOfRound
    series: LoadSeries
    others: tuple[LoadMade, ...]
    others_not_made: tuple[NotMade, ...]
    proven_kg: Decimal
    ballast: Ballast
    heaviest_kg: Decimal | None
    index: LiftingIndex | None

    @property
    def whole(self) -> bool:
        """Whether every load of the scale is made, up to its top load."""
        return self.scale.cannot is None and not self.series.not_made and not self.others_not_made


@dataclass(frozen=True, slots=True)
class WeightsToTake:
    """The lot: its pieces, total in kg, what no lot can be below, and what each scale is served with.

    `proven` says that no lot is lighter, or as light with fewer pieces; `lifts_proven` that no other such lot has fewer
    lifts. `left_out` are pieces that may not be used.
    """

    pieces: tuple[str, ...]
    total_kg: Decimal
    least_kg: Decimal
    proven: bool
    lifts_proven: bool
    scales: tuple[ScaleServed, ...]
    left_out: tuple[LeftOut, ...]

    @property
    def gap_kg(self) -> Decimal:
        """By how much a lighter lot could be lighter at most."""
        return EXACT.subtract(self.total_kg, self.least_kg)

    @property
    def lifts(self) -> int:
        """Lifts over the round."""
        return sum(served.series.lifts for served in self.scales)

    @property
    def moved_kg(self) -> Decimal:
        """Kilograms moved by hand over the round."""
        moved = Decimal(0)
        for served in self.scales:
            moved = EXACT.add(moved, served.series.moved_kg)
        return moved


def weights_to_take(scales: Sequence[ScaleOfRound], stock: Stock, policy: Policy) -> WeightsToTake:
    """Return the lot for a round, scales in the order given. Loads the whole stock cannot make are told."""
    makeable, impossible = _sorted_out(scales, stock, policy)
    needs = [need_of(load, stock, policy) for load in makeable]
    found = fewest_to_take(needs, stock)
    lot, compared = _fewest_lifts(scales, found, impossible, stock, policy)
    coarse = _Lot(coarsest_lot(lot.counts, needs, stock), scales, impossible, policy)
    lot = coarse if coarse.lifts == lot.lifts else lot
    served = tuple(_served(scale, lot, impossible, policy) for scale in scales)
    return WeightsToTake(
        pieces=lot.part.pieces_of(lot.part.counts), total_kg=stock.kilograms(lot.part.total),
        least_kg=stock.kilograms(found.least), proven=found.proven, scales=served, left_out=stock.left_out,
        lifts_proven=found.all_equals and compared and all(s.series.proven for s in served),
    )  # fmt: skip


_Impossible = dict[WantedLoad, NotMade]


def _sorted_out(scales: Sequence[ScaleOfRound], stock: Stock, policy: Policy) -> tuple[list[WantedLoad], _Impossible]:
    makeable, impossible = [], {}
    for load in dict.fromkeys(load for scale in scales for load in (*scale.wanted, *scale.others)):
        found = made_or_not(load, stock, policy)
        if isinstance(found, NotMade):
            impossible[load] = found
        else:
            makeable.append(load)
    return makeable, impossible


class _Lot:
    """A lot, and the series of each scale's loads made of it."""

    def __init__(
        self, part: Stock, scales: Sequence[ScaleOfRound], impossible: _Impossible, policy: Policy,
        counts: Counts = (),
    ) -> None:  # fmt: skip
        self.part, self.counts = part, counts
        lists = [_makeable(scale, impossible) for scale in scales]
        self.series = {loads: pieces_for_loads(loads, part, policy) for loads in dict.fromkeys(lists)}
        self.lifts = sum(self.series[loads].lifts for loads in lists)
        self.moved_kg = Decimal(0)
        for loads in lists:
            self.moved_kg = EXACT.add(self.moved_kg, self.series[loads].moved_kg)


def _makeable(scale: ScaleOfRound, impossible: _Impossible) -> tuple[WantedLoad, ...]:
    return tuple(load for load in scale.wanted if load not in impossible)


def _fewest_lifts(
    scales: Sequence[ScaleOfRound], found: Taken, impossible: _Impossible, stock: Stock, policy: Policy
) -> tuple[_Lot, bool]:
    """The one of the equal lots with the fewest lifts, then least moved; and whether all of them were compared."""
    most = max(1, MOST_SERIES // max(1, len({_makeable(scale, impossible) for scale in scales})))
    lots = [_Lot(stock.part(counts), scales, impossible, policy, counts) for counts in found.choices[:most]]
    best = min(lots, key=lambda lot: (lot.lifts, lot.moved_kg, tuple(-n for n in lot.counts)))
    return best, len(found.choices) <= most


def _served(scale: ScaleOfRound, lot: _Lot, impossible: _Impossible, policy: Policy) -> ScaleServed:
    not_made = tuple(impossible[load] for load in scale.wanted if load in impossible)
    series = replace(lot.series[_makeable(scale, impossible)], not_made=not_made)
    others = [made_or_not(load, lot.part, policy) for load in scale.others if load not in impossible]
    made = tuple(load for load in others if isinstance(load, LoadMade))
    nominal = nominal_kg_of(lot.part)
    heaviest = max((nominal[code] for load in (*series.made, *made) for code in load.pieces), default=None)
    proven = max((load.nominal_kg for load in series.made), default=Decimal(0))
    return ScaleServed(
        scale, series, made, tuple(impossible[load] for load in scale.others if load in impossible), proven,
        _ballast(scale, series.made), heaviest,
        None if heaviest is None else lifting_index(heaviest, scale.facts.scale.kind),
    )  # fmt: skip


def _ballast(scale: ScaleOfRound, made: Sequence[LoadMade]) -> Ballast:
    """How ballast could go on from the heaviest load made."""
    if not made:
        return Ballast()
    return ballast_for(scale.facts, made[-1].pieces, made[-1].nominal_kg, scale.top_kg)
