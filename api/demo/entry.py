"""One entry for the register, as it is sent: where it goes, from when it holds, and the record as wire JSON."""

from dataclasses import dataclass
from datetime import date
from typing import Any

from api.records.documents import document_of
from api.records.register import KINDS, Entity


@dataclass(frozen=True)
class Entry:
    """One revision for the register: the collection and key of its address, the day it holds from, its record."""

    collection: str
    key: str
    valid_from: date
    record: dict[str, Any]


def entry_of(record: Entity, valid_from: date) -> Entry:
    """Return the entry that puts a record into the register from a day on."""
    kind = next(k for k in KINDS if k.record is type(record))
    return Entry(kind.collection, getattr(record, kind.key_field), valid_from, wire_of(record))


def wire_of(record: Any) -> Any:
    """Return a record as a field app sends it: its document, with empty lists left out."""
    return _without_empty_lists(document_of(record))


def _without_empty_lists(value: Any) -> Any:
    if isinstance(value, dict):
        return {name: _without_empty_lists(item) for name, item in value.items() if item != []}
    if isinstance(value, list):
        return [_without_empty_lists(item) for item in value]
    return value
