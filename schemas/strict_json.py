"""One strict door for JSON text: UTF-8, no repeated names, bounded depth and size, no number that loses digits.

Fractions arrive as Decimal with every digit; exponents, NaN and Infinity are refused. Measured values travel as text: the
fields say so where a number stands instead.
"""

import json
import re
from decimal import Decimal
from typing import Any, NoReturn

from api.records.differences import pointer_step

MOST_BYTES = 2 * 1024 * 1024
MOST_DEPTH = 20
MOST_MEMBERS = 20_000
MOST_TEXT = 10_000

# Controls, lone surrogates, and marks that turn the direction of text: a page or a database may choke on them.
_FORBIDDEN = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff\u202a-\u202e\u2066-\u2069\ufffe\uffff]")
_LONG_TEXT = re.compile(f'"[^"]{{{MOST_TEXT - 1}}}')


class NotStrictJson(ValueError):
    """The text is not JSON as this door takes it; `pointer` says where, as far as that can be said."""

    def __init__(self, sentence: str, pointer: str = "#") -> None:
        super().__init__(sentence)
        self.sentence = sentence
        self.pointer = pointer


def strict_json(body: bytes) -> Any:
    """Return the value of a JSON text, numbers with a fraction as Decimal, every digit kept."""
    if len(body) > MOST_BYTES:
        raise NotStrictJson(f"The body has {len(body)} bytes; at most {MOST_BYTES} are taken.")
    text = decoded(body)
    if text.count(",") > MOST_MEMBERS:
        raise NotStrictJson(f"The body has more than {MOST_MEMBERS} members.")
    try:
        value = json.loads(
            text, object_pairs_hook=_object, parse_int=_integer, parse_float=_fraction, parse_constant=_constant
        )
    except json.JSONDecodeError as error:
        raise NotStrictJson(f"Not JSON: {error.msg} at line {error.lineno}, column {error.colno}.") from None
    except RecursionError:  # the parser's own bound, far above ours
        raise NotStrictJson(f"The body nests deeper than {MOST_DEPTH} levels.") from None
    _refuse_depth(value, 1)
    if "\\u" in text or _FORBIDDEN.search(text) or _LONG_TEXT.search(text):
        _refuse_text(value, "#")
    return value


def decoded(body: bytes) -> str:
    """Return the text of a body: UTF-8 without a byte order mark."""
    if body.startswith((b"\xef\xbb\xbf", b"\xff\xfe", b"\xfe\xff")):
        raise NotStrictJson("The body begins with a byte order mark; send plain UTF-8 without it.")
    try:
        return body.decode("utf-8")
    except UnicodeDecodeError as error:
        raise NotStrictJson(f"The body is not UTF-8: byte {error.start} cannot be read.") from None


def _refuse_depth(value: Any, depth: int) -> None:
    items = value.values() if type(value) is dict else value if type(value) is list else ()
    for item in items:
        if type(item) is dict or type(item) is list:
            if depth == MOST_DEPTH:
                raise NotStrictJson(f"The body nests deeper than {MOST_DEPTH} levels.")
            _refuse_depth(item, depth + 1)


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) != len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for name in names if names.count(name) > 1)
        raise NotStrictJson(f"The name {twice[:64]!r} stands twice in one object.")
    return found


def _integer(text: str) -> int:
    if len(text) > 16:
        raise NotStrictJson("A whole number has more than 16 digits.")
    return int(text)


def _fraction(text: str) -> Decimal:
    """A fraction keeps every digit; the field it stands for says that it wants text."""
    if "e" in text or "E" in text or len(text) > 32:
        shown = text if len(text) <= 32 else f"{text[:32]}… ({len(text)} characters)"
        said = f"{shown} is a number with an exponent, or longer than 32 digits; write plain digits as text."
        raise NotStrictJson(said)
    return Decimal(text)


def _constant(text: str) -> NoReturn:
    raise NotStrictJson(f"{text} is not JSON.")


def _refuse_text(value: Any, pointer: str) -> None:
    """Refuse texts that are too long or hold what they must not. `_refuse_depth` has bounded how deep this goes."""
    if isinstance(value, dict):
        for name, item in value.items():
            _refuse_text(name, pointer)
            _refuse_text(item, pointer + pointer_step(name))
    elif isinstance(value, list):
        for place, item in enumerate(value):
            _refuse_text(item, f"{pointer}/{place}")
    elif isinstance(value, str):
        if len(value) > MOST_TEXT:
            raise NotStrictJson(f"A text has {len(value)} characters; at most {MOST_TEXT} are taken.", pointer)
        if _FORBIDDEN.search(value):
            raise NotStrictJson("A text holds control characters or marks that turn its direction.", pointer)
