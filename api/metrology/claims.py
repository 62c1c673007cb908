"""What can be claimed of a single weighing, over the loads: within tolerance, out of it, or "cannot say".

Inside the proven range against the tolerance at the load. Below it against the percentage that the tolerance is of the
lowest proven load, because a mass that is nothing at 60 kg is much at 2 kg. Above it nothing: no load was placed there.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise
from typing import Final, Literal

from api.metrology.contributions import rounding_at_load, rounding_at_zero
from api.metrology.decision import said_of_one
from api.metrology.judgement import ProvenRange
from api.metrology.mass import EXACT
from api.metrology.weighing_in_use import WeighingInUse

Claim = Literal["within tolerance", "out of tolerance", "cannot say"]
Where = Literal["below", "proven", "above"]

_SAID: Final[dict[str, Claim]] = {
    "pass": "within tolerance", "fail": "out of tolerance", "undecided": "cannot say",
}  # fmt: skip
# Limits between two claims are found to this share of the stretch in which they lie.
_HALVINGS: Final = 24

ToleranceAt = Callable[[Decimal], Decimal]


@dataclass(frozen=True, slots=True)
class Stretch:
    """Loads from one to another of which the same can be claimed, in kilograms, and against what."""

    from_kg: Decimal
    to_kg: Decimal
    where: Where
    claim: Claim


def where_is(load_kg: Decimal, proven: ProvenRange | None) -> Where:
    """Return whether a load lies below, in or above the proven range; without one every load lies above it."""
    if proven is None or load_kg > proven.to_kg:
        return "above"
    return "below" if load_kg < proven.from_kg else "proven"


def limit_at(load_kg: Decimal, proven: ProvenRange, tolerance_at: ToleranceAt) -> Decimal:
    """Return what a weighing is held against: the tolerance, below the proven range its percentage there of the load."""
    if load_kg >= proven.from_kg:
        return tolerance_at(load_kg)
    at_least = tolerance_at(proven.from_kg)
    # One rounding, at 40 digits, of a limit that no document states.
    return Decimal(f"{at_least * load_kg / proven.from_kg:.12f}")


def claim_of(weighing: WeighingInUse, proven: ProvenRange | None, tolerance_at: ToleranceAt) -> Claim:
    """Return what can be claimed of one weighing, from its error and U as printed; above the proven range nothing."""
    if proven is None or weighing.reading_kg > proven.to_kg or weighing.reading_kg <= 0:
        return "cannot say"
    limit = limit_at(weighing.reading_kg, proven, tolerance_at)
    return _SAID[said_of_one(weighing.error_kg, limit, weighing.budget.printed)]


def stretches(
    claim_at: Callable[[Decimal], Claim], proven: ProvenRange, bounds_kg: Sequence[Decimal], capacity_kg: Decimal
) -> tuple[Stretch, ...]:
    """Return the claims over all loads from zero to the capacity, neighbours that say the same joined.

    `bounds_kg` are the loads at which the tolerance or the division may change; between neighbours the claim is followed
    over a grid, and its change found by halving.
    """
    edges = sorted({Decimal(0), proven.from_kg, proven.to_kg, *(b for b in bounds_kg if 0 < b < proven.to_kg)})
    found: list[Stretch] = []
    for low, high in pairwise(edges):
        where: Where = "below" if high <= proven.from_kg else "proven"
        for start, end, claim in _followed(claim_at, low, high):
            _add(found, Stretch(start, end, where, claim))
    if capacity_kg > proven.to_kg:
        found.append(Stretch(proven.to_kg, capacity_kg, "above", "cannot say"))
    return tuple(found)


_GRID: Final = 12


def _followed(
    claim_at: Callable[[Decimal], Claim], low: Decimal, high: Decimal
) -> list[tuple[Decimal, Decimal, Claim]]:
    """Steps from low to high; the claim at a bound belongs to the loads above it, so the low end is asked just inside."""
    step = (high - low) / _GRID
    asked = [low + step / 1000, *(low + step * n for n in range(1, _GRID)), high]
    found = []
    begun, said = low, claim_at(asked[0])
    for before, here in pairwise(asked):
        now = claim_at(here)
        if now != said:
            change = _change(claim_at, before, here, said)
            found.append((begun, change, said))
            begun, said = change, now
    if begun < high:
        found.append((begun, high, said))
    return found


def _change(claim_at: Callable[[Decimal], Claim], low: Decimal, high: Decimal, said: Claim) -> Decimal:
    """The load at which a claim ends, by halving, to four significant digits."""
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        low, high = (middle, high) if claim_at(middle) == said else (low, middle)
    return Decimal(f"{float(high):.4g}")


def _add(found: list[Stretch], new: Stretch) -> None:
    if found and found[-1].where == new.where and found[-1].claim == new.claim:
        new = Stretch(found.pop().from_kg, new.to_kg, new.where, new.claim)
    found.append(new)


def slope_from_one_load(load_kg: Decimal, d_kg: Decimal, s_kg: float) -> float:
    """Return the standard uncertainty of the slope, in kg per kg, that one load leaves: two roundings, two repeats.

    One reading at zero and one at the load, each rounded to d and each with the spread s. The weight itself is taken as
    exact, so this is the least that one load can leave.
    """
    roundings = rounding_at_zero(d_kg).standard_uncertainty ** 2 + rounding_at_load(d_kg).standard_uncertainty ** 2
    return float((roundings + 2 * s_kg**2) ** 0.5) / float(load_kg)


def reach_of_slope(u_slope: float, k: float, steps: Sequence[tuple[Decimal, Decimal]]) -> Decimal | None:
    """Return up to which load k u(slope) R stays within the tolerance, the scale taken as straight and without error.

    `steps` are (up to this load, tolerance), ascending, in kilograms. None where it is beyond the tolerance from the
    first load on that could be weighed. A load that lies above every load placed is no claim: the scale need not be
    straight there.
    """
    reach: Decimal | None = None
    begun = Decimal(0)
    for up_to, tolerance in steps:
        most = float(tolerance) / (k * u_slope) if u_slope else float(up_to)
        if most <= float(begun):
            break
        if most < float(up_to):
            return EXACT.create_decimal(f"{most:.6f}")
        reach = begun = up_to
    return reach
