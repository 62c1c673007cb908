"""The register on the wire: a change (from which day, the whole record), and a revision as it is answered."""

from dataclasses import dataclass
from datetime import date
from functools import cache
from typing import Any

from marshmallow import Schema
from marshmallow import fields as wire

from api.records.register import Entity, EntityKind
from schemas import quantities
from schemas.register_checks import check_register_records
from schemas.wire_shape import Shape, Strict, record_value

check_register_records()


@dataclass(frozen=True, slots=True)
class ChangeAsked:
    """From which day a record is to hold, and the record."""

    valid_from: date
    record: Entity


@cache
def change_shape(kind: EntityKind) -> type[Shape]:
    """Return the shape of a change of one kind: `{"valid_from", "record"}`."""
    record: Any = kind.record
    members = {
        "valid_from": Strict(quantities.DAY, required=True),
        "record": Strict(record_value(record), required=True),
    }
    name = f"{kind.record.__name__}ChangeSchema"
    return type(name, (Shape,), {**members, "constructed": ChangeAsked, "__doc__": f"A change of a {kind.name}."})


def change_from(kind: EntityKind, content: Any) -> ChangeAsked:
    """Return the change that parsed JSON holds; raises marshmallow's ValidationError with all faults."""
    loaded: ChangeAsked = change_shape(kind)().load(content)
    return loaded


@cache
def revision_shape(kind: EntityKind) -> type[Schema]:
    """Return the shape of a revision as it is answered."""
    return type(f"{kind.record.__name__}RevisionSchema", (Schema,), {**_revision_members(kind)})


def _revision_members(kind: EntityKind) -> dict[str, Any]:
    record: Any = kind.record
    return {
        "kind": wire.String(required=True),
        "key": wire.String(required=True),
        "number": wire.Integer(required=True),
        "valid_from": Strict(quantities.DAY, required=True),
        "recorded_at": Strict(quantities.MOMENT, required=True),
        "recorded_by": wire.String(required=True),
        "log_number": wire.Integer(required=True),
        "record": Strict(record_value(record), required=True),
    }


@cache
def revisions_shape(kind: EntityKind) -> type[Schema]:
    """Return the shape of a list of revisions."""
    items = wire.List(wire.Nested(revision_shape(kind)), required=True)
    return type(f"{kind.record.__name__}RevisionsSchema", (Schema,), {"items": items})
