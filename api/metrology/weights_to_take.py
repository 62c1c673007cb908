"""The weights to take on a round of several scales: the lightest lot out of which every load of every scale can be made.

Asked first: every load of every scale that the pieces at hand can make at all (each scale's own loads, `load_points`, and
where the pieces end below its top load all of them together). Then of all lots that make all of these, each within its
window and its share of the tolerance: least total kilograms, then fewest pieces, then fewest lifts over the round, then
least kilograms moved. The same pieces serve one scale after the other. `round_search` has the proof of the first two; the
lifts of a lot are those of `load_series`, added over the scales.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Final

from api.metrology.kinds_of_plan import PLAN_OF
from api.metrology.lifting import LiftingIndex, lifting_index
from api.metrology.load_points import load_points
from api.metrology.load_series import LoadSeries, nominal_kg_of, pieces_for_loads
from api.metrology.mass import EXACT
from api.metrology.pieces_for_loads import (
    WINDOW,
    LoadMade,
    NotMade,
    WantedLoad,
    made_or_not,
    need_of,
)
from api.metrology.plan import BALLAST_ON, with_all_pieces
from api.metrology.plan_sheet import Sheet
from api.metrology.plan_steps import PlanFacts
from api.metrology.policy import Policy
from api.metrology.refusals import Refusal
from api.metrology.round_search import Taken, fewest_to_take
from api.metrology.stock import Counts, LeftOut, Stock
from api.metrology.substitution import Substitution, substitutions
from api.metrology.top_load import top_load

# So many series of loads are worked out to compare equal lots by their lifts; beyond, the first of them is taken.
MOST_SERIES: Final = 60


@dataclass(frozen=True, slots=True)
class ScaleOfRound:
    """A scale of the round, its loads to be made, ascending, its top load in kg, and why it has none where it has none."""

    facts: PlanFacts
    wanted: tuple[WantedLoad, ...]
    top_kg: Decimal
    cannot: str | None = None


@dataclass(frozen=True, slots=True)
class ScaleServed:
    """What the lot does for one scale: its series of loads, the greatest load made in kg, what ballast could add where it
    may stand on this kind, and the lifting index of the heaviest piece it is loaded with."""

    scale: ScaleOfRound
    series: LoadSeries
    proven_kg: Decimal
    ballast: tuple[Substitution, ...]
    heaviest_kg: Decimal | None
    index: LiftingIndex | None

    @property
    def whole(self) -> bool:
        """Whether every load of the scale is made, up to its top load."""
        return self.scale.cannot is None and not self.series.not_made


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


def scale_of_round(facts: PlanFacts, stock: Stock) -> ScaleOfRound:
    """Return a scale with the loads of its plan in kilograms; where none can be told, the sentence that says why."""
    dead = Decimal(PLAN_OF[facts.scale.kind].dead_load_kg)
    try:
        top = top_load(facts.scale, facts.unit, facts.heaviest_used_kg, facts.safe_working_load_kg, dead)
        sheet = Sheet(replace(facts, pieces=None))
        sheet.stock = stock
        points = load_points(facts.scale, facts.as_found, facts.unit, top, PLAN_OF[facts.scale.kind].typical)
        wanted = tuple(sheet.wanted(p.kg, p.never_above) for p in with_all_pieces(sheet, points) if p.kg)
    except Refusal as refusal:
        return ScaleOfRound(facts, (), Decimal(0), refusal.sentence)
    return ScaleOfRound(facts, wanted, top.kg)


def weights_to_take(scales: Sequence[ScaleOfRound], stock: Stock, policy: Policy) -> WeightsToTake:
    """Return the lot for a round, scales in the order given. Loads the whole stock cannot make are told."""
    makeable, impossible = _sorted_out(scales, stock, policy)
    found = fewest_to_take([need_of(load, stock, policy) for load in makeable], stock)
    lot, served, compared = _fewest_lifts(scales, found, impossible, stock, policy)
    return WeightsToTake(
        pieces=stock.pieces_of(lot), total_kg=stock.kilograms(stock.mass_of(lot)), least_kg=stock.kilograms(found.least),
        proven=found.proven, scales=tuple(served), left_out=stock.left_out,
        lifts_proven=found.all_equals and compared and all(s.series.proven for s in served),
    )  # fmt: skip


_Impossible = dict[WantedLoad, NotMade]


def _sorted_out(scales: Sequence[ScaleOfRound], stock: Stock, policy: Policy) -> tuple[list[WantedLoad], _Impossible]:
    makeable, impossible = [], {}
    for load in dict.fromkeys(load for scale in scales for load in scale.wanted):
        found = made_or_not(load, stock, policy)
        if isinstance(found, NotMade):
            impossible[load] = found
        else:
            makeable.append(load)
    return makeable, impossible


def _fewest_lifts(
    scales: Sequence[ScaleOfRound], found: Taken, impossible: _Impossible, stock: Stock, policy: Policy
) -> tuple[Counts, list[ScaleServed], bool]:
    """The one of the equal lots with the fewest lifts, then least moved; and whether all of them were compared."""
    lists = {tuple(load for load in scale.wanted if load not in impossible) for scale in scales}
    most = max(1, MOST_SERIES // max(1, len(lists)))
    best: tuple[int, Decimal, Counts] | None = None
    for lot in found.choices[:most]:
        part = stock.part(lot)
        series = {loads: pieces_for_loads(loads, part, policy) for loads in lists}
        served = [_served(scale, series, impossible, stock) for scale in scales]
        lifts = sum(s.series.lifts for s in served)
        moved = Decimal(0)
        for one in served:
            moved = EXACT.add(moved, one.series.moved_kg)
        worth = lifts, moved, tuple(-n for n in lot)
        if best is None or worth < best:
            best, best_served = worth, served
    assert best is not None
    return tuple(-n for n in best[2]), best_served, len(found.choices) <= most


def _served(
    scale: ScaleOfRound, series: dict[tuple[WantedLoad, ...], LoadSeries], impossible: _Impossible, stock: Stock
) -> ScaleServed:
    not_made = tuple(impossible[load] for load in scale.wanted if load in impossible)
    found = replace(series[tuple(load for load in scale.wanted if load not in impossible)], not_made=not_made)
    nominal = nominal_kg_of(stock)
    heaviest = max((nominal[code] for made in found.made for code in made.pieces), default=None)
    proven = max((made.nominal_kg for made in found.made), default=Decimal(0))
    return ScaleServed(
        scale, found, proven, _ballast(scale, found.made, proven), heaviest,
        None if heaviest is None else lifting_index(heaviest, scale.facts.scale.kind),
    )  # fmt: skip


def _ballast(scale: ScaleOfRound, made: Sequence[LoadMade], proven_kg: Decimal) -> tuple[Substitution, ...]:
    """What substitution would reach, where ballast may stand on the kind and the pieces end below the top load."""
    short = EXACT.multiply(proven_kg, 1 + WINDOW) < scale.top_kg
    return substitutions(proven_kg, scale.top_kg) if made and short and scale.facts.scale.kind in BALLAST_ON else ()
