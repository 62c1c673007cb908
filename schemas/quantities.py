"""The strict values of the wire: text only for anything measured, whole numbers only where a count is meant.

Each value is a pair: the function that reads it or raises with every fault, and the JSON Schema that says the same in
the published contract. Messages say what was found and what would be accepted.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from functools import lru_cache
from typing import Any

from marshmallow import ValidationError

from api.metrology.mass import DECIMAL_TEXT, KILOGRAMS_PER, UNIT_HINTS, Mass, compound
from api.metrology.refusals import Refusal
from api.metrology.terms import Between, Written
from schemas.sentences import MISSING, quoted, said, unknown_fields

Schema = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Wire:
    """One kind of value on the wire: how it is read, and how the contract describes it."""

    read: Callable[[Any], Any]
    schema: Schema


DECIMAL_PATTERN = r"^-?[0-9]{1,9}(\.[0-9]{1,9})?$"
UNIT_SCHEMA: Schema = {"type": "string", "enum": list(KILOGRAMS_PER)}
QUANTITY: Schema = {
    "type": "object",
    "description": "A mass as it was shown or stated: decimal text, every written zero kept, and a UCUM unit.",
    "properties": {
        "value": {"type": "string", "pattern": DECIMAL_PATTERN},
        "unit": UNIT_SCHEMA,
    },
    "required": ["value", "unit"],
    "additionalProperties": False,
    "examples": [{"value": "10.10", "unit": "kg"}],
}
COMPOUND: Schema = {
    "type": "object",
    "description": "A compound display, from the larger unit to the smaller.",
    "properties": {
        "parts": {"type": "array", "items": {"$ref": "#/components/schemas/Quantity"}, "minItems": 2, "maxItems": 3}
    },
    "required": ["parts"],
    "additionalProperties": False,
    "examples": [{"parts": [{"value": "7", "unit": "[lb_av]"}, {"value": "4.5", "unit": "[oz_av]"}]}],
}
_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_MOMENT = re.compile(
    r"[0-9]{4}-[0-9]{2}-[0-9]{2}[Tt][0-9]{2}:[0-9]{2}:[0-9]{2}(\.[0-9]{1,6})?([Zz]|[+-][0-9]{2}:[0-9]{2})"
)


def read_mass(value: Any) -> Mass:
    """Return the mass of `{"value", "unit"}` or `{"parts": [...]}`; all faults at once."""
    if type(value) is not dict:
        raise ValidationError(f'Found {said(value)}; accepted: {{"value": "10.10", "unit": "kg"}}.')
    if "parts" in value:
        return _read_compound(value)
    text, unit = value.get("value"), value.get("unit")
    if len(value) == 2 and type(text) is str and type(unit) is str:
        mass = _mass_of(text, unit)
        if mass is not None:
            return mass
    raise ValidationError(_faults_of_quantity(value))


@lru_cache(maxsize=16384)
def _mass_of(text: str, unit: str) -> Mass | None:
    """The mass of a text and a unit, made once: readings repeat the same few."""
    return Mass(Decimal(text), unit) if unit in KILOGRAMS_PER and DECIMAL_TEXT.match(text) else None


def _faults_of_quantity(value: dict[str, Any]) -> dict[str, Any]:
    faults: dict[str, Any] = {}
    for name, read in (("value", read_decimal), ("unit", _read_unit)):
        if name not in value:
            faults[name] = [MISSING]
            continue
        try:
            read(value[name])
        except ValidationError as error:
            faults[name] = error.messages
    return faults | _unknown_in(value, "value", "unit")


def _unknown_in(value: dict[str, Any], *accepted: str) -> dict[str, Any]:
    return unknown_fields((name for name in value if name not in accepted), accepted, value)


def _read_unit(value: Any) -> str:
    if not isinstance(value, str):
        raise ValidationError(f"Found {said(value)}; accepted: text.")
    if value not in KILOGRAMS_PER:
        raise ValidationError(_unknown_unit(value, tuple(KILOGRAMS_PER)))
    return value


def _unknown_unit(value: str, accepted: tuple[str, ...]) -> str:
    """A unit that people write, and the code they mean, wherever a unit is taken."""
    hint = UNIT_HINTS.get(value.strip(), UNIT_HINTS.get(value.strip().lower()))
    meant = f" Did you mean {hint}?" if hint else ""
    return (
        f"{quoted(value)} is not a unit code used here.{meant} Accepted: {', '.join(accepted)} (UCUM, case sensitive)."
    )


def read_decimal(value: Any) -> Decimal:
    """Return the number of plain decimal text; a JSON number is refused because it loses its last zeros."""
    if type(value) is str and DECIMAL_TEXT.match(value):
        return Decimal(value)
    if isinstance(value, (int, Decimal)) and not isinstance(value, bool):
        raise ValidationError(f'Found the number {value}; send it as text, "{value}", so that no digit is lost.')
    raise ValidationError(
        f"Found {said(value)}; accepted: plain decimal text, for example 10.10 (no exponent, no spaces)."
    )


def _read_compound(value: dict[str, Any]) -> Mass:
    faults = _unknown_in(value, "parts")
    read: list[tuple[Decimal, str]] = []
    try:
        read = _read_parts(value["parts"])
    except ValidationError as error:
        faults["parts"] = error.messages
    if faults:
        raise ValidationError(faults)
    try:
        return compound(tuple(read))
    except Refusal as refusal:
        raise ValidationError({"parts": [refusal.sentence]}) from None


def _read_parts(parts: Any) -> list[tuple[Decimal, str]]:
    if not isinstance(parts, list) or not 2 <= len(parts) <= 3:
        found = f"{len(parts)} items" if isinstance(parts, list) else said(parts)
        wanted = "a list of two or three quantities, from the larger unit to the smaller"
        raise ValidationError(f"Found {found}; accepted: {wanted}.")
    faults: dict[int, Any] = {}
    read: list[tuple[Decimal, str]] = []
    for place, part in enumerate(parts):
        try:
            mass = read_mass(part)
            read.append((mass.value, mass.unit))
        except ValidationError as error:
            faults[place] = error.messages
    if faults:
        raise ValidationError(faults)
    return read


MASS = Wire(
    read_mass,
    {"oneOf": [{"$ref": "#/components/schemas/Quantity"}, {"$ref": "#/components/schemas/CompoundDisplay"}]},
)


def decimal_of(bounds: Between | None) -> Wire:
    """Return a measured number that is not a mass: decimal text within bounds."""

    def read(value: Any) -> Decimal:
        number = read_decimal(value)
        if bounds is not None and not bounds.least <= number <= bounds.most:
            raise ValidationError(f"Found {value}; accepted: {bounds.least} to {bounds.most}.")
        return number

    schema: Schema = {"type": "string", "pattern": DECIMAL_PATTERN, "format": "decimal"}
    if bounds is not None:
        schema["description"] = f"Decimal text from {bounds.least} to {bounds.most}."
    return Wire(read, schema)


def whole_of(bounds: Between | None) -> Wire:
    """Return a count: a JSON whole number within bounds."""
    limits = bounds or Between(Decimal(-999_999_999), Decimal(999_999_999))
    least, most = int(limits.least), int(limits.most)

    def read(value: Any) -> int:
        if type(value) is not int or not least <= value <= most:
            raise ValidationError(f"Found {said(value)}; accepted: a whole number from {least} to {most}.")
        return value

    return Wire(read, {"type": "integer", "minimum": least, "maximum": most})


def _read_flag(value: Any) -> bool:
    if type(value) is not bool:
        raise ValidationError(f"Found {said(value)}; accepted: true or false.")
    return value


FLAG = Wire(_read_flag, {"type": "boolean"})


def text_of(bounds: Written | None) -> Wire:
    """Return a text within its length, matching its pattern whole where it has one."""
    limits = bounds or Written(500)
    pattern = re.compile(rf"(?:{limits.pattern})\Z", re.ASCII) if limits.pattern else None
    fits = lru_cache(maxsize=16384)(pattern.match) if pattern else None

    def read(value: Any) -> str:
        if type(value) is not str:
            raise ValidationError(f"Found {said(value)}; accepted: text.")
        if not limits.shortest <= len(value) <= limits.longest:
            raise ValidationError(f"Found {len(value)} characters; accepted: {limits.shortest} to {limits.longest}.")
        if fits is not None:
            if not fits(value):
                raise ValidationError(f"Found {said(value)}; accepted: text of the form {limits.pattern}.")
        elif value != value.strip():
            raise ValidationError(f"Found {said(value)}; accepted: text without space at its ends.")
        return value

    schema: Schema = {"type": "string", "minLength": limits.shortest, "maxLength": limits.longest}
    if limits.pattern:
        schema["pattern"] = f"^(?:{limits.pattern})$"
    return Wire(read, schema)


def word_of(words: tuple[str, ...]) -> Wire:
    """Return one word out of a closed list."""
    allowed = frozenset(words)
    units = allowed.issuperset(KILOGRAMS_PER)

    def read(value: Any) -> str:
        if type(value) is str and value in allowed:
            return value
        if units and type(value) is str:
            raise ValidationError(_unknown_unit(value, words))
        raise ValidationError(f"Found {said(value)}; accepted: {', '.join(words)}.")

    return Wire(read, {"type": "string", "enum": list(words)})


def _read_day(value: Any) -> date:
    try:
        if type(value) is str and _DAY.fullmatch(value):
            return date.fromisoformat(value)
    except ValueError:
        pass
    raise ValidationError(f"Found {said(value)}; accepted: a day as YYYY-MM-DD.")


UNIT = Wire(_read_unit, UNIT_SCHEMA)
DAY = Wire(_read_day, {"type": "string", "format": "date"})


def read_moment(value: Any) -> datetime:
    """Return a moment written as RFC 3339 with its offset from UTC; a moment without one is refused."""
    if type(value) is str and _MOMENT.fullmatch(value):
        try:
            moment = datetime.fromisoformat(value.upper())
            if 1900 <= moment.year <= 9990:
                return moment
        except ValueError:
            pass
    raise ValidationError(
        f"Found {said(value)}; accepted: a moment with its offset, for example 2026-10-14T09:00:00-06:00 (RFC 3339)."
    )


MOMENT = Wire(read_moment, {"type": "string", "format": "date-time"})
