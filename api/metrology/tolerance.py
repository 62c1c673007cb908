"""The tolerance at a load: scheme, edition, stage, class and the range in use give a mass, with its source.

Both published schemes count the verification interval e, not the division d. The load is compared with the bands by
multiplication (n x e against the load), so that a load on a bound is on the bound.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cache, lru_cache
from typing import Final, Literal, NamedTuple

from api.metrology.mass import EXACT, in_kilograms
from api.metrology.refusals import BadRule, NoTableValue
from api.metrology.scale import Range
from api.metrology.terms import AccuracyClass, SchemeName
from api.metrology.tolerance_bands import HB44_IIIL_STEP, HB44_MAINTENANCE, R76_INITIAL

Stage = Literal["maintenance", "acceptance", "initial", "in-service", "house"]

EDITIONS: Final[dict[str, tuple[str, ...]]] = {"hb44": ("2026",), "r76": ("2006",)}
STAGES: Final[dict[str, tuple[Stage, ...]]] = {
    "hb44": ("maintenance", "acceptance"),
    "r76": ("in-service", "initial"),
    "house": ("house",),
}
# Half of maintenance for acceptance (HB 44 T.N.3.2), twice initial in service (R 76-1 3.5.2).
_STAGE_FACTOR: Final[dict[str, Decimal]] = {
    "maintenance": Decimal(1), "acceptance": Decimal("0.5"), "initial": Decimal(1), "in-service": Decimal(2),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class HouseTerm:
    """One term of a house rule: a percentage of the load, a fixed mass, or a number of divisions of the range in use.

    It may hold for some loads only: for those above `above_kg`, up to and including `up_to_kg`.
    """

    percent: Decimal | None = None
    mass_kg: Decimal | None = None
    divisions: Decimal | None = None
    above_kg: Decimal | None = None
    up_to_kg: Decimal | None = None

    def holds_at(self, load_kg: Decimal) -> bool:
        """Whether the term speaks of a load; the upper bound belongs to it, the lower one does not."""
        return (self.above_kg is None or load_kg > self.above_kg) and (
            self.up_to_kg is None or load_kg <= self.up_to_kg
        )


@dataclass(frozen=True, slots=True)
class HouseTolerance:
    """An owner's own tolerance: one term, or the larger or smaller of several, with the source of the rule."""

    code: str
    terms: tuple[HouseTerm, ...]
    combine: Literal["larger", "smaller"]
    source: str


@dataclass(frozen=True, slots=True)
class Scheme:
    """Which tolerance applies: the scheme, its edition and stage, and the house rule where it is one."""

    name: SchemeName
    edition: str
    stage: Stage
    house: HouseTolerance | None = None


class Tolerance(NamedTuple):
    """The largest error that passes, in kilograms either way, what it was counted in, and the source."""

    kg: Decimal
    counted: str
    source: str


def scheme(name: SchemeName, stage: Stage, edition: str | None = None, house: HouseTolerance | None = None) -> Scheme:
    """Return a scheme that is known and complete, the newest edition by default; refuses any other (`BadRule`)."""
    if stage not in STAGES[name]:
        accepted = ", ".join(STAGES[name])
        raise BadRule(f"{name} has no stage {stage!r}; accepted: {accepted}.", found=stage, accepted=accepted)
    if name == "house":
        if house is None or not house.terms:
            raise BadRule("A house tolerance needs its rule, with one term at least.", found=name)
        return Scheme(name, edition or house.code, stage, house)
    known = EDITIONS[name]
    if edition is not None and edition not in known:
        raise BadRule(f"{name} edition {edition!r} is not held; accepted: {', '.join(known)}.", found=edition)
    return Scheme(name, edition or known[-1], stage)


def tolerance_at(scheme: Scheme, accuracy_class: AccuracyClass, in_use: Range, load_kg: Decimal) -> Tolerance:
    """Return the tolerance at a nominal load in the range in use, in kilograms.

    Refuses a class or load for which the scheme has no row (`NoTableValue`); nothing is extrapolated.
    """
    if scheme.house is not None:
        return _house_tolerance(scheme.house, in_use, load_kg)
    multiple = _table_multiple(scheme, accuracy_class, in_use, load_kg)
    source = _source_of(scheme.name, scheme.edition, scheme.stage)
    return Tolerance(EXACT.multiply(multiple, in_use.e_kg), _in_intervals(multiple), source)


def loads_of_change(name: SchemeName, accuracy_class: AccuracyClass, ranges: Sequence[Range]) -> tuple[Decimal, ...]:
    """Return every load at which the tolerance may change, in kilograms, ascending: table bounds, and each range's Max.

    Ranges of one unit, the finest first. For a house rule only the ranges: its terms grow with the load.
    """
    tables = {"hb44": HB44_MAINTENANCE, "r76": R76_INITIAL}
    bands = tables[name].get(accuracy_class, ()) if name in tables else ()
    bounds: set[Decimal] = set()
    lowest = Decimal(0)
    for in_use in ranges:
        counted = {_times(in_use.e_kg, band.up_to) for band in bands if band.up_to is not None}
        bounds |= {load for load in counted if lowest < load < in_use.max_kg} | {in_use.max_kg}
        lowest = in_use.max_kg
    return tuple(sorted(bounds))


def _table_multiple(scheme: Scheme, accuracy_class: str, in_use: Range, load_kg: Decimal) -> Decimal:
    bounds = _bounds(scheme.name, accuracy_class, in_use.e_kg)
    base = (_hb44_multiple if scheme.name == "hb44" else _r76_multiple)(bounds, accuracy_class, in_use.e_kg, load_kg)
    return EXACT.multiply(base, _STAGE_FACTOR[scheme.stage])


@lru_cache(maxsize=256)
def _bounds(name: SchemeName, accuracy_class: str, e_kg: Decimal) -> tuple[tuple[Decimal, Decimal], ...]:
    """Each band of a class as its bound in kilograms, Infinity where it has no end, and its multiple of e.

    HB 44 prints rows as 0-500, 501-2000: between 500 and 501 the lower row holds (General Code G-T.4), so that a row ends
    before the next one's first e.
    """
    table = HB44_MAINTENANCE if name == "hb44" else R76_INITIAL
    if accuracy_class not in table:
        raise NoTableValue(
            f"{name} has no tolerance for class {accuracy_class!r}; it has {', '.join(table)}.",
            accuracy_class=accuracy_class,
        )
    beyond = 1 if name == "hb44" else 0
    return tuple(
        (Decimal("Infinity") if band.up_to is None else _times(e_kg, band.up_to + beyond), band.multiple)
        for band in table[accuracy_class]
    )


def _hb44_multiple(
    bounds: tuple[tuple[Decimal, Decimal], ...], accuracy_class: str, e_kg: Decimal, load_kg: Decimal
) -> Decimal:
    for bound, multiple in bounds:
        if load_kg < bound:
            if accuracy_class == "IIIL" and load_kg > _times(e_kg, 1000):
                break
            return multiple
    return 2 + _steps_begun(EXACT.subtract(load_kg, _times(e_kg, 1000)), _times(e_kg, HB44_IIIL_STEP))


def _times(e_kg: Decimal, count: int) -> Decimal:
    return EXACT.multiply(e_kg, Decimal(count))


def _steps_begun(beyond: Decimal, step: Decimal) -> Decimal:
    whole, rest = EXACT.divmod(beyond, step)
    return whole + 1 if rest else whole


def _r76_multiple(
    bounds: tuple[tuple[Decimal, Decimal], ...], accuracy_class: str, e_kg: Decimal, load_kg: Decimal
) -> Decimal:
    for bound, multiple in bounds:
        if load_kg <= bound:
            return multiple
    last = R76_INITIAL[accuracy_class][-1].up_to
    raise NoTableValue(
        f"R 76-1 Table 6 ends at {last} e for this class; the load is above it.",
        last_row=f"{last} e",
        load=f"{load_kg:f} kg",
    )


@cache
def _in_intervals(multiple: Decimal) -> str:
    return f"{multiple.normalize():f} e"


@cache
def _source_of(name: SchemeName, edition: str, stage: Stage) -> str:
    if name == "hb44":
        half = "; T.N.3.2, one half" if stage == "acceptance" else ""
        return f"NIST HB 44 ({edition}) section 2.20 Table 6, T.N.3.1{half}"
    twice = "; 3.5.2, twice" if stage == "in-service" else ""
    return f"OIML R 76-1:{edition} 3.5.1 Table 6{twice}"


def _house_tolerance(rule: HouseTolerance, in_use: Range, load_kg: Decimal) -> Tolerance:
    values = [(_term_kg(term, in_use, load_kg), _term_words(term)) for term in rule.terms if term.holds_at(load_kg)]
    if not values:
        raise NoTableValue(
            f"House rule {rule.code} says nothing of a load of {load_kg:f} kg.",
            house_rule=rule.code,
            load=f"{load_kg:f} kg",
        )
    kg, words = max(values) if rule.combine == "larger" else min(values)
    return Tolerance(kg, words, f"house rule {rule.code}: {rule.source}")


def _term_kg(term: HouseTerm, in_use: Range, load_kg: Decimal) -> Decimal:
    if term.percent is not None:
        return EXACT.multiply(EXACT.multiply(load_kg, term.percent), Decimal("0.01"))
    if term.mass_kg is not None:
        return term.mass_kg
    if term.divisions is not None:
        return in_kilograms(EXACT.multiply(term.divisions, in_use.d), in_use.unit)
    raise BadRule("A term of a house rule says percent, mass or divisions.")


def _term_words(term: HouseTerm) -> str:
    if term.percent is not None:
        said = f"{term.percent:f} % of the load"
    else:
        said = f"{term.mass_kg:f} kg" if term.mass_kg is not None else f"{term.divisions:f} d"
    above = f" above {term.above_kg:f} kg" if term.above_kg is not None else ""
    up_to = f" up to {term.up_to_kg:f} kg" if term.up_to_kg is not None else ""
    return f"{said}{above}{up_to}"
