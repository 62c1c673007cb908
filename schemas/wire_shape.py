"""Wire shapes from frozen records: one declaration gives the type, the strict check, the document and the contract.

A record's type hints say all: words are Literal, bounds stand in `api.metrology.terms`. A record is read by plain code
made from its hints, once, because readings come by the hundred; marshmallow holds the outermost shape. Unknown fields
are refused, and all faults come at once.
"""

import sys
import types
from collections.abc import Callable, Mapping, Sequence
from dataclasses import MISSING, fields, is_dataclass
from datetime import date, datetime
from decimal import Decimal
from functools import cache
from typing import Annotated, Any, Literal, Union, get_args, get_origin, get_type_hints

from marshmallow import RAISE, Schema, ValidationError, post_load
from marshmallow import fields as wire

from api.metrology.mass import Mass
from api.metrology.terms import Between, Figure, Many, UcumUnit, Written
from api.records.documents import document_of
from schemas import figures, quantities
from schemas.faults import merged
from schemas.quantities import Wire
from schemas.sentences import MISSING as NOT_GIVEN
from schemas.sentences import NULL, not_an_object, said, unknown_fields

NO_BOUND = Many(sys.maxsize)  # for the lists of an answer; every list that is sent has its own bound
Faults = dict[str, Any]
Check = Callable[[Any], Faults]
_CHECKS: dict[Any, Check] = {}
_CHECKS_AS_SENT: dict[Any, Check] = {}

# The records that were described so far, by the name under which the contract knows them.
DESCRIBED: dict[str, quantities.Schema] = {"Quantity": quantities.QUANTITY, "CompoundDisplay": quantities.COMPOUND}
# What the contract says of the outermost shapes. The library would take it from a Meta, and leave out that unknown fields
# are refused.
TOLD: dict[str, str] = {}


def checked_by(record: type, check: Check) -> None:
    """Have a record checked as a whole: the function returns faults by field name, or nothing."""
    _CHECKS[record] = check


def checked_as_sent(record: type, check: Check) -> None:
    """Have the object that is to become a record checked as it was sent, beside its fields: so all faults come at once.

    The function may rest on nothing: any field may be missing or of a wrong kind.
    """
    _CHECKS_AS_SENT[record] = check


class Strict(wire.Field[Any]):
    """A marshmallow field over one strict value."""

    default_error_messages = {"null": NULL, "required": NOT_GIVEN}

    def __init__(self, value: Wire, **settings: Any) -> None:
        super().__init__(**settings)
        self.read = value.read
        self.json_schema = value.schema

    def _deserialize(self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **settings: Any) -> Any:
        return self.read(value)

    def _serialize(self, value: Any, attr: str | None, obj: Any, **settings: Any) -> Any:
        return document_of(value)


class Shape(Schema):
    """A wire shape: unknown fields are refused, and the loaded value is the record itself."""

    class Meta:
        """Refuse what is not known, so that a typing slip does not vanish."""

        unknown = RAISE

    constructed: Any = None

    def handle_error(self, error: ValidationError, data: Any, **_: Any) -> None:
        """Put the library's own faults into our words: an unknown name, and what is no object."""
        if not isinstance(data, dict):
            error.messages = {"_schema": [not_an_object(data)]}
            return
        unknown = data.keys() - self.fields.keys()
        if isinstance(error.messages, dict):
            error.messages |= unknown_fields(unknown, self.fields, data)

    @post_load
    def make_record(self, data: dict[str, Any], **_: Any) -> Any:
        """Return the record that the fields make; refuse what only shows when they are seen together."""
        return _made(type(self).constructed, data)


@cache
def wire_shape(record: Any) -> type[Shape]:
    """Return the wire shape of a record."""
    hints = get_type_hints(record, include_extras=True)
    members: dict[str, Any] = {
        f.name: Strict(value_of(hints[f.name]), required=_is_required(f, hints[f.name]))
        for f in fields(record)
        if f.init
    }
    TOLD[record.__name__] = told_of(record)
    return type(f"{record.__name__}Schema", (Shape,), {**members, "constructed": record, "__doc__": record.__doc__})


def told_of(record: Any) -> str:
    """Return what the contract says of a record: its own words."""
    return "\n\n".join(" ".join(part.split()) for part in (record.__doc__ or "").split("\n\n"))


def _is_required(declared: Any, hint: Any) -> bool:
    """A field without a default, unless it may be None: None is left out of every document."""
    return declared.default is MISSING and declared.default_factory is MISSING and type(None) not in get_args(hint)


@cache
def record_value(record: Any) -> Wire:
    """Return a record within a record: read by plain code, described under its own name in the contract."""
    hints = get_type_hints(record, include_extras=True)
    declared = [f for f in fields(record) if f.init]
    values = {f.name: value_of(hints[f.name]) for f in declared}
    required = [f.name for f in declared if _is_required(f, hints[f.name])]
    DESCRIBED[record.__name__] = {
        "type": "object",
        "description": told_of(record),
        "properties": {name: value.schema for name, value in values.items()},
        "required": required,
        "additionalProperties": False,
    }
    readers = {name: value.read for name, value in values.items()}
    return Wire(_record_reader(record, readers, required), {"$ref": f"#/components/schemas/{record.__name__}"})


def _record_reader(record: Any, readers: dict[str, Callable[[Any], Any]], required: list[str]) -> Callable[[Any], Any]:
    def read(value: Any) -> Any:
        if type(value) is not dict:
            raise ValidationError(not_an_object(value))
        found: dict[str, Any] = {}
        faults: Faults = {}
        unknown: list[str] = []
        for name, item in value.items():
            reader = readers.get(name)
            if reader is None:
                unknown.append(name)
                continue
            try:
                found[name] = reader(item)
            except ValidationError as error:
                faults[name] = error.messages
        if unknown:
            faults |= unknown_fields(unknown, readers, value)
        for name in required:
            if name not in value:
                faults[name] = [NOT_GIVEN]
        if (check := _CHECKS_AS_SENT.get(record)) is not None:
            faults = merged(faults, check(value))
        if faults:
            raise ValidationError(faults)
        return _made(record, found)

    return read


def _made(record: Any, found: dict[str, Any]) -> Any:
    made = record(**found)
    check = _CHECKS.get(record)
    if check is not None and (faults := check(made)):
        raise ValidationError(faults)
    return made


def value_of(hint: Any) -> Wire:
    """Return the strict value that a type hint stands for."""
    plain, marks = _unwrapped(hint)
    figure = _mark(marks, Figure)
    if figure is not None:
        number = figures.figure_of(figure)
        return number if plain is Decimal else figures.either(value_of(plain), number)
    if len(shapes := _alternatives(hint)) > 1:
        return figures.one_of(tuple(value_of(shape) for shape in shapes))
    if plain is Mass:
        return quantities.MASS
    if get_origin(plain) is Literal:
        return quantities.word_of(get_args(plain))
    if get_origin(plain) is tuple:
        return _list_of(value_of(get_args(plain)[0]), _mark(marks, Many) or NO_BOUND)
    if is_dataclass(plain):
        record: Any = plain
        return record_value(record)
    return _scalar(plain, marks)


def _scalar(plain: Any, marks: Sequence[Any]) -> Wire:
    if plain is Decimal:
        return quantities.decimal_of(_mark(marks, Between))
    if plain is bool:
        return quantities.FLAG
    if plain is int:
        return quantities.whole_of(_mark(marks, Between))
    if plain is float:
        return figures.FLOAT
    if plain is str and _mark(marks, UcumUnit):
        return quantities.UNIT
    if plain is str:
        return quantities.text_of(_mark(marks, Written))
    if plain is datetime:
        return quantities.MOMENT
    if plain is date:
        return quantities.DAY
    return Wire(_as_it_is, {"type": "object"})


def _as_it_is(value: Any) -> Any:
    return value


def _list_of(item: Wire, bound: Many) -> Wire:
    most, least = bound.most, bound.least
    described: quantities.Schema = {"type": "array", "items": item.schema, "minItems": least}
    if bound is not NO_BOUND:
        described["maxItems"] = most
    read_item = item.read

    def read(value: Any) -> tuple[Any, ...]:
        if type(value) is not list or not least <= len(value) <= most:
            found = f"{len(value)} items" if type(value) is list else said(value)
            raise ValidationError(f"Found {found}; accepted: a list of {least} to {most}.")
        try:
            return tuple([read_item(v) for v in value])
        except ValidationError:
            raise ValidationError(_faults_of_items(read_item, value)) from None

    return Wire(read, described)


def _faults_of_items(read_item: Callable[[Any], Any], values: list[Any]) -> dict[int, Any]:
    faults: dict[int, Any] = {}
    for place, value in enumerate(values):
        try:
            read_item(value)
        except ValidationError as error:
            faults[place] = error.messages
    return faults


def _unwrapped(hint: Any) -> tuple[Any, tuple[Any, ...]]:
    """The plain type of a hint and its marks, without Annotated and without None."""
    marks: tuple[Any, ...] = ()
    while get_origin(hint) in (Annotated, Union, types.UnionType):
        if get_origin(hint) is Annotated:
            marks += tuple(get_args(hint)[1:])
        hint = next(a for a in get_args(hint) if a is not type(None))
    return hint, marks


def _alternatives(hint: Any) -> tuple[Any, ...]:
    """The types that a hint leaves open, without None."""
    return (
        tuple(a for a in get_args(hint) if a is not type(None)) if get_origin(hint) in (Union, types.UnionType) else ()
    )


def _mark(marks: Sequence[Any], kind: type) -> Any:
    return next((m for m in marks if isinstance(m, kind)), None)
