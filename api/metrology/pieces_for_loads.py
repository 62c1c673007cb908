"""The pieces for a load, out of those at hand: near enough to it, fine enough for its tolerance, and few.

A load is made where the nominal masses add up to it within 2 % (never above it where a step of the tolerance, or Max, ends
there), the sum of the pieces' error bounds keeps within its share of the tolerance (one third, by policy), and no piece is
over the lifting limit. Of all such choices the one with the fewest pieces is taken, then the one nearest to the load, then
the one with the smaller error bound. `load_series` arranges several loads for few lifts; `stock` orders the pieces.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Final, Literal

from api.metrology.mass import EXACT
from api.metrology.piece_search import Need, fewest_pieces, nearest_sum
from api.metrology.policy import Policy
from api.metrology.refusals import NoPiecesForLoad
from api.metrology.stock import Counts, Stock, whole

# A load within 2 % of the one asked serves as well: common practice, no source.
WINDOW: Final = Decimal("0.02")
Why = Literal["too coarse", "not heavy enough", "no combination", "search ended"]


@dataclass(frozen=True, slots=True)
class WantedLoad:
    """A load to be made in kg, the tolerance in kg that holds there, and whether a step of the tolerance or Max ends at it.

    The tolerance is the smallest that holds anywhere in the load's window; `wanted_load` works it out. `within_kg` is a
    window of its own, where a rule gives one, instead of the 2 %.
    """

    target_kg: Decimal
    tolerance_kg: Decimal
    never_above: bool = False
    within_kg: tuple[Decimal, Decimal] | None = None

    @property
    def window_kg(self) -> tuple[Decimal, Decimal]:
        """The least and the greatest load that serve."""
        return self.within_kg or window_of(self.target_kg, self.never_above)


@dataclass(frozen=True, slots=True)
class LoadMade:
    """A load and the pieces that make it: nominal sum and error bound in kg, and the bound's share of the tolerance."""

    wanted: WantedLoad
    pieces: tuple[str, ...]
    nominal_kg: Decimal
    error_bound_kg: Decimal
    share_of_tolerance: float


@dataclass(frozen=True, slots=True)
class NotMade:
    """A load that cannot be made of the pieces: why, in a sentence too, and the nearest that can, in kg."""

    wanted: WantedLoad
    why: Why
    sentence: str
    nearest_kg: Decimal | None


def window_of(target_kg: Decimal, never_above: bool = False) -> tuple[Decimal, Decimal]:
    """Return the least and the greatest load that serve for a target, in kilograms, exact.

    >>> window_of(Decimal(50), never_above=True)
    (Decimal('49.00'), Decimal('50'))
    """
    margin = EXACT.multiply(target_kg, WINDOW)
    return EXACT.subtract(target_kg, margin), target_kg if never_above else EXACT.add(target_kg, margin)


def wanted_load(
    target_kg: Decimal, tolerance_at: Callable[[Decimal], Decimal], never_above: bool = False
) -> WantedLoad:
    """Return a wanted load with the smallest tolerance of its window; tolerances never fall as loads rise, so that is the
    tolerance at the window's lower end. `tolerance_at` gives kilograms for kilograms."""
    low, _ = window_of(target_kg, never_above)
    return WantedLoad(target_kg, min(tolerance_at(low), tolerance_at(target_kg)), never_above)


def choose_pieces(wanted: WantedLoad, stock: Stock, policy: Policy) -> LoadMade:
    """Return the pieces for one load: fewest, then nearest, then finest.

    Refuses a load that cannot be made (`NoPiecesForLoad`): too coarse, not heavy enough, or no combination.
    """
    found = made_or_not(wanted, stock, policy)
    if isinstance(found, LoadMade):
        return found
    nearest = {} if found.nearest_kg is None else {"nearest": f"{found.nearest_kg:f} kg"}
    raise NoPiecesForLoad(found.sentence, load=f"{wanted.target_kg:f} kg", why=found.why, **nearest)


def made_or_not(wanted: WantedLoad, stock: Stock, policy: Policy) -> LoadMade | NotMade:
    """Return the pieces for one load, or why it cannot be made. Exact; see `fewest_pieces` for proof and complexity."""
    need = need_of(wanted, stock, policy)
    counts, ended = fewest_pieces(need, stock)
    return _not_made(wanted, need, stock, policy, ended) if counts is None else made_of(counts, wanted, stock)


def made_as_asked(wanted: WantedLoad, stock: Stock, policy: Policy) -> LoadMade | NotMade:
    """Return the pieces for one load, exactly as asked where that takes one piece more at most; or why it cannot be made."""
    found = made_or_not(wanted, stock, policy)
    if isinstance(found, NotMade) or found.nominal_kg == wanted.target_kg:
        return found
    exact = made_or_not(replace(wanted, within_kg=(wanted.target_kg, wanted.target_kg)), stock, policy)
    if isinstance(exact, LoadMade) and len(exact.pieces) <= len(found.pieces) + 1:
        return replace(exact, wanted=wanted)
    return found


def made_of(counts: Counts, wanted: WantedLoad, stock: Stock) -> LoadMade:
    """Return a choice as a load made."""
    bound = stock.bound_kg(stock.bound_of(counts))
    share = float(bound) / float(wanted.tolerance_kg) if wanted.tolerance_kg else float("inf") if bound else 0.0
    return LoadMade(wanted, stock.pieces_of(counts), stock.kilograms(stock.mass_of(counts)), bound, share)


def need_of(wanted: WantedLoad, stock: Stock, policy: Policy) -> Need:
    """Return a wanted load in whole units: its window rounded inwards, its share of the tolerance rounded down."""
    low, high = wanted.window_kg
    least, rest = EXACT.divide_int(low, stock.unit_kg), EXACT.remainder(low, stock.unit_kg)
    per_unit = EXACT.multiply(stock.bound_unit_kg, policy.weights_divisor)
    return Need(
        low=int(least) + bool(rest),
        target=whole(wanted.target_kg, stock.unit_kg),
        high=whole(high, stock.unit_kg),
        limit=whole(wanted.tolerance_kg, per_unit),
        target_kg=wanted.target_kg,
    )


def _not_made(wanted: WantedLoad, need: Need, stock: Stock, policy: Policy, ended: bool) -> NotMade:
    said = f"{wanted.target_kg:f} kg cannot be made of these pieces: "
    if ended:
        return NotMade(wanted, "search ended", said + "the search ended before one was found.", None)
    if stock.total < need.low:
        total = stock.kilograms(stock.total)
        said += f"all of them weigh {total:f} kg{_over_the_limit(stock)}."
        return NotMade(wanted, "not heavy enough", said, total if total else None)
    loosest = Need(need.low, need.target, need.high, stock.bound_of(stock.counts), need.target_kg)
    counts, _ = fewest_pieces(loosest, stock)
    if counts is not None:
        return NotMade(
            wanted, "too coarse", said + _coarse(counts, wanted, stock, policy), stock.kilograms(stock.mass_of(counts))
        )
    nearest = nearest_sum(need, stock)
    near = None if nearest is None else stock.kilograms(nearest)
    bounds = " to ".join(f"{edge:f}" for edge in wanted.window_kg)
    said += f"none of their sums lies within {bounds} kg" + ("." if near is None else f"; the nearest is {near:f} kg.")
    return NotMade(wanted, "no combination", said, near)


def _over_the_limit(stock: Stock) -> str:
    over = sum(1 for left in stock.left_out if left.why == "over the lifting limit")
    return f", without {over} over the lifting limit" if over else ""


def _coarse(counts: Counts, wanted: WantedLoad, stock: Stock, policy: Policy) -> str:
    bound = stock.bound_kg(stock.bound_of(counts))
    return (
        f"the errors of those that make it may reach {bound:f} kg, more than 1/{policy.weights_divisor:f} of the tolerance "
        f"of {wanted.tolerance_kg:f} kg."
    )
