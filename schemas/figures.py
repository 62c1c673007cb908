"""The numbers of calculators on the wire: decimal text or plain JSON numbers in, floats in full precision out.

Unlike what a display showed, a calculator's number is no text whose zeros count; it may come either way. Where a mass or an
object may stand in its place, the value is one of the two.
"""

import re
from decimal import Decimal
from typing import Any

from marshmallow import ValidationError

from api.metrology.terms import Figure
from schemas.quantities import Schema, Wire
from schemas.sentences import said

# A calculator's numbers may be longer than what a display shows: a standard uncertainty has as many digits as it has.
FIGURE_TEXT = re.compile(r"-?[0-9]{1,15}(\.[0-9]{1,25})?\Z", re.ASCII)
FIGURE_PATTERN = r"^-?[0-9]{1,15}(\.[0-9]{1,25})?$"


def figure_of(bounds: Figure) -> Wire:
    """Return a calculator's number: plain decimal text, or a plain JSON number, within bounds."""
    accepted = _words_of(bounds)

    def read(value: Any) -> Decimal:
        text = value if type(value) is str else f"{value:f}" if type(value) is Decimal else str(value)
        if type(value) not in (str, int, Decimal) or not FIGURE_TEXT.match(text):
            said_digits = "at most 15 digits before the point and 25 after it, no exponent"
            raise ValidationError(f"Found {said(value)}; accepted: {accepted}, with {said_digits}.")
        number = Decimal(text)
        low = bounds.above is not None and number <= bounds.above
        if low or not _least(bounds, number) <= number <= _most(bounds, number):
            raise ValidationError(f"Found {text}; accepted: {accepted}.")
        return number

    return Wire(read, _figure_schema(bounds, accepted))


def _least(bounds: Figure, number: Decimal) -> Decimal:
    return number if bounds.least is None else bounds.least


def _most(bounds: Figure, number: Decimal) -> Decimal:
    return number if bounds.most is None else bounds.most


def _words_of(bounds: Figure) -> str:
    ends = (
        (" from ", bounds.least),
        (" above ", bounds.above),
        (" to " if bounds.least is not None else " up to ", bounds.most),
    )
    return "a number" + "".join(f"{word}{end:f}" for word, end in ends if end is not None)


def _figure_schema(bounds: Figure, accepted: str) -> Schema:
    number: Schema = {"type": "number"}
    for name, end in (("minimum", bounds.least), ("maximum", bounds.most), ("exclusiveMinimum", bounds.above)):
        if end is not None:
            number[name] = float(end)
    text = {"type": "string", "pattern": FIGURE_PATTERN}
    return {"description": f"Decimal text, or a JSON number without an exponent: {accepted}.", "oneOf": [text, number]}


def either(whole: Wire, figure: Wire) -> Wire:
    """Return a value that is an object of one shape, or else a bare number."""

    def read(value: Any) -> Any:
        return whole.read(value) if type(value) is dict else figure.read(value)

    return Wire(read, {"anyOf": [whole.schema, figure.schema]})


def one_of(wires: tuple[Wire, ...]) -> Wire:
    """Return a value of an answer that comes in several shapes; it is never read."""
    return Wire(_never_read, {"anyOf": [wire.schema for wire in wires]})


def _never_read(value: Any) -> Any:
    raise ValidationError(f"Found {said(value)}; this field is only ever answered.")


# A float64 that is worked out leaves in full precision; none ever comes in.
FLOAT = Wire(_never_read, {"type": "number"})
