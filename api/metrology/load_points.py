"""Which loads are placed on a scale in a calibration, why each, and which of them are read again on the way down.

Loads are nominal kilograms, exact. Which pieces make them is `pieces_for_loads`' business, which tests they are for is
`plan`'s. Every reason carries its source.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise
from typing import Final

from api.metrology.label_check import LeastLoad, least_by_class
from api.metrology.mass import EXACT, in_kilograms
from api.metrology.pieces_for_loads import WINDOW
from api.metrology.scale import Scale
from api.metrology.stock import plain
from api.metrology.tolerance import HouseTolerance, Scheme
from api.metrology.tolerance_bands import HB44_MAINTENANCE, R76_INITIAL
from api.metrology.top_load import TopLoad

COMMON: Final = "common practice, no source"
# At least five loads of a weighing test (OIML R 76-1:2006 A.4.4.1, from memory).
LEAST_NONZERO: Final = 5
# Loads closer together than this share of the top load are one; light loads may stand closer, within this share of
# themselves, or no child's load would be left on a scale for adults. Common practice, no source.
MERGED_WITHIN: Final = Decimal("0.05")
MERGED_WITHIN_LIGHT: Final = Decimal("0.2")
# A typical load stands for half the top load where it lies within this share of the top load. Common practice, no source.
HALF_WITHIN: Final = Decimal("0.1")
# Min in e where no class gives one, as for class III: our choice.
MIN_WITHOUT_CLASS: Final = 20
# HB 44 2.20 N.1.2.1, from memory: from so many divisions on the way down is read at the steps of the tolerance.
STEPS_FROM_N: Final = 1000


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a load is placed, in words, and the source of that."""

    words: str
    source: str


@dataclass(frozen=True, slots=True)
class LoadPoint:
    """A load of the plan in kg: the reasons for it, whether it may be made heavier, whether it is read going down too.

    `never_above` holds where a step of the tolerance, a change of range, Max or the safe load ends at the load.
    """

    kg: Decimal
    reasons: tuple[Reason, ...]
    never_above: bool = False
    down: Reason | None = None


def load_points(
    scale: Scale, scheme: Scheme, unit: str, top: TopLoad, typical_kg: Sequence[Decimal] = ()
) -> tuple[LoadPoint, ...]:
    """Return the loads of a plan in kilograms, ascending from 0 to the top load, none above it.

    Always: 0, Min, every step of the tolerance and every change of range inside, the top load; then typical loads and half
    the top load where nothing stands close by; then evenly spread ones, until five are above zero.
    """
    found: dict[Decimal, list[Reason]] = {Decimal(0): [Reason("nothing on it", COMMON)]}
    held_down = set()
    for kg, reason, never_above in _needed(scale, scheme, unit, top):
        found.setdefault(kg, []).append(reason)
        if never_above:
            held_down.add(kg)
    for kg, words in _welcome(top.kg, typical_kg):
        _welcomed(found, kg, words, top.kg)
    _padded(found, top.kg)
    ways_down = _ways_down(scale, scheme, unit, sorted(found), top.kg)
    return tuple(
        LoadPoint(plain(kg), tuple(found[kg]), kg in held_down or _beyond(kg, top), ways_down.get(kg))
        for kg in sorted(found)
    )


def _beyond(kg: Decimal, top: TopLoad) -> bool:
    """Whether a load made 2 % heavier would be above what may be placed."""
    return EXACT.multiply(kg, 1 + WINDOW) > top.limit_kg


def least_load(scale: Scale, unit: str) -> tuple[Decimal, Reason]:
    """Return the least load of use: the marked Min, or else the class's number of e (R 76-1 Table 3)."""
    first = scale.ranges_in(unit)[0]
    if first.min is not None:
        return in_kilograms(first.min, unit), Reason("Min as marked", "scale's plate")
    least = least_by_class(scale.accuracy_class, first) or LeastLoad(
        MIN_WITHOUT_CLASS, "e", EXACT.multiply(first.e_kg, Decimal(MIN_WITHOUT_CLASS))
    )
    return least.kg, Reason(
        f"{least.words}, Min of its class", "OIML R 76-1:2006 Table 3, read as Directive 2014/31/EU Annex I"
    )


def tolerance_steps(scale: Scale, scheme: Scheme, unit: str) -> tuple[tuple[Decimal, Reason], ...]:
    """Return every load in kilograms at which a step of the tolerance ends, in the partial range where it ends."""
    if scheme.house is not None:
        return tuple(_house_steps(scheme.house))
    table = HB44_MAINTENANCE if scheme.name == "hb44" else R76_INITIAL
    source = "NIST HB 44 2.20 Table 6" if scheme.name == "hb44" else "OIML R 76-1:2006 3.5.1 Table 6"
    steps, below = [], Decimal(0)
    for partial in scale.ranges_in(unit):
        for band in table.get(scale.accuracy_class, ()):
            end = EXACT.multiply(partial.e_kg, Decimal(band.up_to)) if band.up_to is not None else None
            if end is not None and below < end <= partial.max_kg:
                steps.append((end, Reason(f"end of a step of the tolerance: {band.up_to} e", source)))
        below = partial.max_kg
    return tuple(steps)


def _house_steps(rule: HouseTolerance) -> Iterator[tuple[Decimal, Reason]]:
    """Where a fixed mass and a percentage meet, the tolerance begins to grow with the load."""
    for percent in [term.percent for term in rule.terms if term.percent]:
        for fixed in [term.mass_kg for term in rule.terms if term.mass_kg]:
            hundredfold, rest = EXACT.divmod(EXACT.multiply(fixed, Decimal(100_000)), percent)
            if not rest:
                words = f"{fixed:f} kg and {percent:f} % of the load are the same"
                yield EXACT.multiply(hundredfold, Decimal("0.001")), Reason(words, f"house rule {rule.code}")


def _needed(scale: Scale, scheme: Scheme, unit: str, top: TopLoad) -> Iterator[tuple[Decimal, Reason, bool]]:
    least, why = least_load(scale, unit)
    candidates = [(least, why, False)]
    candidates += [(kg, reason, True) for kg, reason in tolerance_steps(scale, scheme, unit)]
    candidates += list(_changes(scale, unit))
    yield from ((kg, reason, held) for kg, reason, held in candidates if kg <= top.kg)
    yield top.kg, Reason(top.words, top.source), _beyond(top.kg, top)


def _changes(scale: Scale, unit: str) -> Iterator[tuple[Decimal, Reason, bool]]:
    """The end of each partial range but the last, and a load so far above that 2 % less is still above."""
    source = "OIML R 76-1:2006 3.3; NIST HB 44 2.20 T.N.2.4, from memory"
    for partial, following in pairwise(scale.ranges_in(unit)):
        end, step = partial.max_kg, _step(partial.max_kg, 2)
        reached = EXACT.multiply(EXACT.add(end, following.e_kg), Decimal(100))
        above = _up_to_whole(reached, EXACT.multiply(step, 100 - 100 * WINDOW))
        yield end, Reason("last load of a partial range", source), True
        yield EXACT.multiply(step, Decimal(above)), Reason("just above: the next partial range", source), False


def _step(value: Decimal, places: int) -> Decimal:
    """The power of ten so many places below a value's first digit: 1 for 150 and 2 places."""
    return Decimal(1).scaleb(value.adjusted() - places)


def _up_to_whole(value: Decimal, unit: Decimal) -> int:
    whole, rest = EXACT.divmod(value, unit)
    return int(whole) + bool(rest)


def share_of(top_kg: Decimal, share: str) -> Decimal:
    """Return about a share of the top load, rounded down to two digits of the top load or better.

    >>> share_of(Decimal("272.15"), "0.5")
    Decimal('136')
    """
    step = _step(top_kg, 2)
    return EXACT.multiply(EXACT.divide_int(EXACT.multiply(top_kg, Decimal(share)), step), step)


def _welcome(top_kg: Decimal, typical_kg: Sequence[Decimal]) -> Iterator[tuple[Decimal, str]]:
    yield from ((kg, "typical of what is weighed there") for kg in typical_kg)
    half, near = share_of(top_kg, "0.5"), EXACT.multiply(top_kg, HALF_WITHIN)
    if not any(abs(EXACT.subtract(kg, half)) <= near and kg < top_kg for kg in typical_kg):
        yield half, "about half of the top load"


def _welcomed(found: dict[Decimal, list[Reason]], kg: Decimal, words: str, top_kg: Decimal) -> None:
    if kg in found:
        found[kg].append(Reason(words, COMMON))
    elif 0 < kg < top_kg and all(abs(EXACT.subtract(kg, other)) >= _gap(kg, top_kg) for other in found):
        found[kg] = [Reason(words, COMMON)]


def _gap(kg: Decimal, top_kg: Decimal) -> Decimal:
    return min(EXACT.multiply(top_kg, MERGED_WITHIN), EXACT.multiply(kg, MERGED_WITHIN_LIGHT))


def _padded(found: dict[Decimal, list[Reason]], top_kg: Decimal) -> None:
    """Spread loads until there are enough: a quarter, three quarters, a tenth, then the middle of the widest gap."""
    for share in ("0.25", "0.75", "0.1"):
        if len(found) <= LEAST_NONZERO:
            _welcomed(found, share_of(top_kg, share), "spread over the range", top_kg)
    while len(found) <= LEAST_NONZERO:
        low, high = max(pairwise(sorted(found)), key=lambda pair: pair[1] - pair[0])
        middle = EXACT.multiply(EXACT.add(low, high), Decimal("0.5"))
        found[middle] = [Reason("spread over the range", "OIML R 76-1:2006 A.4.4.1, five loads, from memory")]


def _ways_down(
    scale: Scale, scheme: Scheme, unit: str, loads: Sequence[Decimal], top_kg: Decimal
) -> dict[Decimal, Reason]:
    """The loads read on the way down: what the scheme asks for, the one nearest to half, and zero; three at least."""
    below = [kg for kg in loads if 0 < kg < top_kg]
    half = EXACT.multiply(top_kg, Decimal("0.5"))
    nearest_half = sorted(below, key=lambda kg: (abs(kg - half), kg))
    down = {Decimal(0): Reason("return to zero", "NIST HB 44 2.20 N.1.9; OIML R 76-1:2006 3.9.4.2, from memory")}
    down[nearest_half[0]] = _half_down(scheme)
    steps = {kg for kg, _ in tolerance_steps(scale, scheme, unit)}
    if scheme.name == "hb44" and _most_divisions(scale, unit) >= STEPS_FROM_N:
        at_steps = Reason("end of a step of the tolerance", "NIST HB 44 2.20 N.1.2.1 (n >= 1000), from memory")
        down.update({kg: at_steps for kg in below if kg in steps})
    source = "OIML R 76-1:2006 A.4.4.1, five loads, from memory" if scheme.name == "r76" else COMMON
    for kg in sorted(nearest_half, key=lambda kg: kg not in steps):
        if len(down) >= (LEAST_NONZERO if scheme.name == "r76" else 3):
            break
        down.setdefault(kg, Reason("read both ways", source))
    return down


def _half_down(scheme: Scheme) -> Reason:
    source = "NIST HB 44 2.20 N.1.2.1 (n < 1000), from memory" if scheme.name == "hb44" else COMMON
    return Reason("about half of the top load", source)


def _most_divisions(scale: Scale, unit: str) -> Decimal:
    return max(EXACT.divide_int(r.max_kg, r.e_kg) for r in scale.ranges_in(unit))
