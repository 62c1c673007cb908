"""The limit of a weight of a class and nominal value: the largest error of its conventional mass, with its source.

Only what a table prints: nothing between two rows, nothing beyond the last. The numbers are `weight_class_tables`'s;
whether a weight is good enough for a load is decided elsewhere.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from typing import Final

from api.metrology.mass import KILOGRAMS_PER, UNIT_HINTS, Mass, mass
from api.metrology.refusals import NoTableValue
from api.metrology.weight_class_tables import TABLES, ClassTable, Standing


@dataclass(frozen=True, slots=True)
class ClassLimit:
    """The largest error a weight of a class may have, in kilograms either way, with its source and what it rests on."""

    kg: Decimal
    source: str
    confidence: str


def _printed_mass(cell: str, unit: str = "mg") -> Mass:
    """A number as the tables print it, `25 000` or `1.0 g`, with the unit it carries or else the one given."""
    *digits, last = cell.split()
    named = UNIT_HINTS.get(last, last)
    return mass("".join(digits), named) if named in KILOGRAMS_PER else mass("".join([*digits, last]), unit)


def _rows_of(table: ClassTable) -> Iterator[tuple[Mass, tuple[str, ...]]]:
    for line in table.rows.strip().splitlines():
        nominal, *cells = (cell.strip() for cell in line.split("|"))
        yield _printed_mass(nominal), tuple(cells)


def _covers(standing: Standing, weight_class: str, nominal: Mass) -> bool:
    in_class = not standing.classes or weight_class in standing.classes
    return in_class and _printed_mass(standing.least).kg <= nominal.kg <= _printed_mass(standing.most).kg


def _limits_of(table: ClassTable) -> Iterator[tuple[str, Mass, ClassLimit]]:
    for nominal, cells in _rows_of(table):
        for weight_class, cell in zip(table.classes, cells, strict=True):
            if cell:
                words = [s.words for s in table.standings if _covers(s, weight_class, nominal)]
                yield weight_class, nominal, ClassLimit(_printed_mass(cell).kg, table.source, words[-1])


_PRINTED: Final = [limit for table in TABLES for limit in _limits_of(table)]
_LIMITS: Final = {(weight_class, nominal.kg): limit for weight_class, nominal, limit in _PRINTED}

WEIGHT_CLASSES: Final[tuple[str, ...]] = tuple(
    dict.fromkeys(name for table in TABLES for name in sorted(table.classes))
)


def class_limit(weight_class: str, nominal: Mass) -> ClassLimit:
    """Return the limit for a weight of a class and nominal value, exact.

    Refuses a class that is not known and a nominal value that its tables do not print (`NoTableValue`); R 111 has no
    25 kg, for one.

    >>> class_limit("M1", mass("20", "kg")).kg
    Decimal('0.001000')
    >>> class_limit("F", mass("50", "[lb_av]")).source
    'NIST Handbook 105-1 (1990, 2019) class F, avoirdupois'
    """
    try:
        return _LIMITS[weight_class, nominal.kg]
    except KeyError:
        raise NoTableValue(
            _sentence(weight_class, nominal), weight_class=weight_class[:64], nominal=nominal.shown
        ) from None


def nominal_values(weight_class: str) -> tuple[Mass, ...]:
    """Return the nominal values of a class, each table's in the order it prints them; none for an unknown class."""
    return tuple(nominal for name, nominal, _ in _PRINTED if name == weight_class)


@lru_cache(maxsize=1024)
def _sentence(weight_class: str, nominal: Mass) -> str:
    has = ", ".join(value.shown for value in nominal_values(weight_class))
    if not has:
        return f"{weight_class[:64]!r} is not a weight class held here; accepted: {', '.join(WEIGHT_CLASSES)}."
    return f"Class {weight_class} has no limit for {nominal.shown}; it has {has}. Nothing is interpolated."
