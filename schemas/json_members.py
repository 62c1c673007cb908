"""Where the values of a JSON text begin and end: for what has to be kept byte for byte, though it came within another."""

import json
from typing import Final

from schemas.strict_json import NotStrictJson, decoded

_SPACE: Final = " \t\n\r"
# Only to see where a value ends; what is in it is read strictly elsewhere.
_LENIENT: Final = json.JSONDecoder(strict=False, parse_int=str, parse_float=str, parse_constant=str)


def member_bytes(body: bytes, name: str) -> bytes:
    """Return the bytes of one member's value in a JSON object; refuses a body that has no such member (`NotStrictJson`)."""
    text = decoded(body)
    place = after_space(text, 0)
    while text[place : place + 1] in ("{", ","):
        start = after_space(text, place + 1)
        if text[start : start + 1] != '"':
            break
        named, place = _LENIENT.raw_decode(text, start)
        start = after_space(text, after_space(text, place) + 1)  # past the colon
        place = end_of(text, start)
        if named == name:
            return text[start:place].encode()
        place = after_space(text, place)
    raise NotStrictJson(f"The body is no object with a member {name!r}.")


def after_space(text: str, place: int) -> int:
    """Return the first place at or after one that holds no white space."""
    while place < len(text) and text[place] in _SPACE:
        place += 1
    return place


def end_of(text: str, place: int) -> int:
    """Return where the value ends that begins at a place; refuses what is none (`NotStrictJson`)."""
    try:
        return _LENIENT.raw_decode(text, place)[1]
    except json.JSONDecodeError as error:
        said = f"Not JSON: {error.msg} at line {error.lineno}, column {error.colno}; the elements cannot be told apart."
        raise NotStrictJson(said) from None
    except RecursionError:
        raise NotStrictJson("An element nests too deep for the elements to be told apart.") from None
