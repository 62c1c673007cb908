"""The register on the wire: a change (from which day, the whole record), and a revision as it is answered."""

from dataclasses import dataclass, fields, replace
from datetime import date
from decimal import Decimal
from functools import cache
from typing import Any

from marshmallow import Schema, ValidationError
from marshmallow import fields as wire

from api.metrology.terms import Between
from api.records.register import Entity, EntityKind, RegisterNote, Revision
from schemas import quantities
from schemas.faults import merged
from schemas.parts import PartSchema
from schemas.register_checks import check_register_records
from schemas.sentences import said
from schemas.wire_shape import Faults, Shape, Strict, record_value, wire_shape

check_register_records()


@dataclass(frozen=True, slots=True)
class ChangeAsked:
    """From which day a record is to hold, the record, and the revision as which it was taken out, if it was."""

    valid_from: date
    record: Entity
    taken_out: int | None = None


# What a revision says beside the change that made it.
_BESIDE = frozenset(f.name for f in fields(Revision)) - {"valid_from", "record"}
_NUMBER = quantities.whole_of(Between(Decimal(1), Decimal(999_999_999)))


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


def put_back_from(kind: EntityKind, content: Any) -> ChangeAsked:
    """Return the change that parsed JSON holds: as it is asked for, or as a revision that was shown and is put back.

    Raises marshmallow's ValidationError with all faults.
    """
    if not isinstance(content, dict) or not _BESIDE & content.keys():
        return change_from(kind, content)
    faults = _faults_beside(kind, content)
    try:
        asked = change_from(kind, {name: value for name, value in content.items() if name not in _BESIDE})
    except ValidationError as error:
        raise ValidationError(merged(faults, error.messages)) from None
    if faults:
        raise ValidationError(faults)
    return replace(asked, taken_out=content.get("number"))


def _faults_beside(kind: EntityKind, content: dict[str, Any]) -> Faults:
    """What a revision says of itself must fit what is put back; who recorded it, and when, will be told anew."""
    faults: Faults = {}
    if content.get("kind", kind.name) != kind.name:
        faults["kind"] = [f"Found {said(content['kind'])}; accepted: {kind.name}, as it is to be put on the register."]
    record = content.get("record")
    inside = record.get(kind.key_field) if isinstance(record, dict) else None
    if inside is not None and content.get("key", inside) != inside:
        wanted = (
            f"{said(inside)}, the record's {kind.key_field}; something new has no kind, key and number of its own yet"
        )
        faults["key"] = [f"Found {said(content['key'])}; accepted: {wanted}."]
    try:
        _NUMBER.read(content.get("number", 1))
    except ValidationError as error:
        faults["number"] = error.messages
    return faults


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
        "notes": wire.List(wire.Nested(wire_shape(RegisterNote)), required=True),
    }


@cache
def revisions_shape(kind: EntityKind) -> type[Schema]:
    """Return the shape of a list of revisions."""
    items = wire.List(wire.Nested(revision_shape(kind)), required=True)
    return type(f"{kind.record.__name__}RevisionsSchema", (PartSchema,), {"items": items})
