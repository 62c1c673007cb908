"""Kinds of query parameters: how each is read, strictly, what is accepted in words, and how the contract describes it."""

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from typing import Any, Final

from api.metrology.mass import Mass, mass
from api.metrology.refusals import Refusal

LAST_ENTRY: Final = 2**31 - 1  # what the log number's column holds on both databases
LONGEST_CODE: Final = 40
LONGEST_CURSOR: Final = 600


@dataclass(frozen=True, slots=True)
class Question:
    """One query parameter: how it is read, what is accepted in words, and how the contract describes it."""

    read: Callable[[str], Any]
    accepted: str
    schema: dict[str, Any]
    description: str


def day(description: str) -> Question:
    """Return a question that is answered with a day."""

    def read(text: str) -> date:
        found = date.fromisoformat(text)
        if found.isoformat() != text:  # 20260101 and 2026-W01-4 are ISO 8601, not our form
            raise ValueError
        return found

    return Question(read, "a day as YYYY-MM-DD", {"type": "string", "format": "date"}, description)


def number(least: int, most: int, description: str) -> Question:
    """Return a question that is answered with a whole number within bounds."""

    def read(text: str) -> int:
        value = int(text)
        if not text.isascii() or not text.isdigit() or not least <= value <= most:
            raise ValueError
        return value

    schema = {"type": "integer", "minimum": least, "maximum": most}
    return Question(read, f"a whole number from {least} to {most}", schema, description)


def code(description: str, longest: int = LONGEST_CODE) -> Question:
    """Return a question that is answered with a code, as the register has them."""

    def read(text: str) -> str:
        if not 1 <= len(text) <= longest or not text.isprintable():
            raise ValueError
        return text

    schema = {"type": "string", "minLength": 1, "maxLength": longest}
    return Question(read, f"a code of 1 to {longest} characters", schema, description)


def read_mass(text: str) -> Mass:
    """Return a mass as a display shows it: a number that is not negative, a space, a UCUM unit."""
    number, space, unit = text.partition(" ")
    if not space or number.startswith("-"):
        raise ValueError
    try:
        return mass(number, unit)
    except Refusal:
        raise ValueError from None


def read_cursor(text: str) -> str:
    """Return the text of a cursor, if it may be one."""
    if re.fullmatch(f"[0-9A-Za-z_-]{{1,{LONGEST_CURSOR}}}", text) is None:
        raise ValueError
    return text


def word(words: tuple[str, ...], description: str) -> Question:
    """Return a question that is answered with one of some words."""

    def read(text: str) -> str:
        if text not in words:
            raise ValueError
        return text

    schema = {"type": "string", "enum": list(words)}
    return Question(read, f"one of {', '.join(words)}", schema, description)


def switch(description: str) -> Question:
    """Return a question that is answered with true or false."""

    def read(text: str) -> bool:
        if text not in ("true", "false"):
            raise ValueError
        return text == "true"

    return Question(read, "true or false", {"type": "string", "enum": ["true", "false"]}, description)
