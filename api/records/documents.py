"""Records as JSON documents and back, from their own type hints: one codec for everything that is stored as text.

Decimals, dates and moments travel as text, masses as {"value", "unit"} (with "parts" for a compound display), unknown
or missing optional fields are left out. What comes out of `document_of` is what `record_from` reads again, exactly.
"""

import types
from collections.abc import Callable, Mapping
from dataclasses import fields, is_dataclass
from datetime import date, datetime
from decimal import Decimal
from functools import cache
from typing import Annotated, Any, TypeVar, Union, get_args, get_origin, get_type_hints

from api.metrology.mass import Mass, compound

T = TypeVar("T")


def document_of(value: Any) -> Any:
    """Return a record, or any value in one, as plain JSON values."""
    kind: Any = type(value)
    if kind in (str, int, bool, float) or value is None:
        return value
    if kind is Mass:
        return _mass_document(value)
    if kind is Decimal:
        return f"{value:f}"
    if kind in (date, datetime):
        return value.isoformat()
    if kind in (tuple, list):
        return [document_of(item) for item in value]
    if kind is dict:
        return {key: document_of(item) for key, item in value.items()}
    return {name: document_of(item) for name in _names_of(kind) if (item := getattr(value, name)) is not None}


@cache
def _names_of(kind: Any) -> tuple[str, ...]:
    return tuple(f.name for f in fields(kind))


def _mass_document(value: Mass) -> dict[str, Any]:
    if value.parts:
        return {"parts": [{"value": f"{number:f}", "unit": unit} for number, unit in value.parts]}
    return {"value": f"{value.value:f}", "unit": value.unit}


def record_from(record: type[T], document: Mapping[str, Any]) -> T:
    """Return the record that a stored document holds. The document was written by `document_of`, so it is trusted."""
    hint: Any = record
    read: Callable[[Mapping[str, Any]], T] = _reader(hint)
    return read(document)


@cache
def _reader(hint: Any) -> Callable[[Any], Any]:
    """Return the function that reads one stored value of a type."""
    if hint is Mass:
        return read_mass
    if hint is Decimal:
        return Decimal
    if hint in (date, datetime):
        read: Callable[[str], date] = hint.fromisoformat
        return read
    if get_origin(hint) is Annotated:
        return _reader(get_args(hint)[0])
    if get_origin(hint) in (Union, types.UnionType):
        return _reader(next(a for a in get_args(hint) if a is not type(None)))
    if get_origin(hint) is tuple:
        item = _reader(get_args(hint)[0])
        return lambda values: tuple(item(v) for v in values)
    if is_dataclass(hint):
        return _record_reader(hint)
    return _as_it_is


def _as_it_is(value: Any) -> Any:
    return value


def _record_reader(record: Any) -> Callable[[Any], Any]:
    hints = get_type_hints(record, include_extras=True)
    readers = {f.name: _reader(hints[f.name]) for f in fields(record)}

    def read(document: Mapping[str, Any]) -> Any:
        return record(**{name: readers[name](value) for name, value in document.items()})

    return read


def read_mass(document: Mapping[str, Any]) -> Mass:
    """Return the mass of a stored document."""
    if "parts" in document:
        return compound(tuple((Decimal(p["value"]), p["unit"]) for p in document["parts"]))
    return Mass(Decimal(document["value"]), document["unit"])
