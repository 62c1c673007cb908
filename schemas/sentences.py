"""How a fault is said: what was found, short enough for a message, and what would be accepted instead."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from difflib import get_close_matches
from typing import Any

MISSING = "Missing; this field is required."
NULL = "Found null; leave the field out instead."
MOST_SHOWN = 60
MOST_GUESSED = 20  # an object with more unknown names than that is not a misspelt one


def quoted(text: str) -> str:
    """Return a text in quotes, cut where it is long; the quote is closed, and the cut is seen and counted."""
    if len(text) <= MOST_SHOWN:
        return repr(text)
    return f"{text[:MOST_SHOWN] + '…'!r} ({len(text)} characters)"


def said(found: Any) -> str:
    """Return what was found where a value of a field is wanted."""
    if found is None:
        return "null; leave the field out instead"
    if isinstance(found, (dict, list)):
        return kind_of(found)
    if isinstance(found, str):
        return quoted(found)
    if isinstance(found, bool):
        return "true" if found else "false"
    return f"the number {found}"


def kind_of(found: Any) -> str:
    """Return which kind of JSON value was found: what matters where an object or a list is wanted."""
    if found is None:
        return "null"
    if isinstance(found, bool):
        return "true" if found else "false"
    if isinstance(found, (int, float, Decimal)):
        return "a number"
    if isinstance(found, (dict, list)):
        return "an object" if isinstance(found, dict) else "a list"
    return "text"


def not_an_object(found: Any) -> str:
    """Return the sentence that refuses what is no object where one is wanted."""
    return f"Found {kind_of(found)}; accepted: an object."


@dataclass(frozen=True, slots=True)
class UnknownField:
    """The fault of a name that is not known; put into words only when it is told: one body may hold thousands."""

    name: str
    accepted: tuple[str, ...]
    given: frozenset[str]
    among: int = 1

    def __str__(self) -> str:
        """Say the nearest accepted name that is not given yet, or which names are accepted."""
        if self.among <= MOST_GUESSED:
            near = get_close_matches(self.name[:MOST_SHOWN], [n for n in self.accepted if n not in self.given], n=1)
            if near:
                return f"Unknown field. Did you mean {near[0]}?"
        return f"Unknown field. Accepted: {', '.join(self.accepted)}."


def unknown_fields(
    names: Iterable[str], accepted: Iterable[str], given: Iterable[str]
) -> dict[str, list[UnknownField]]:
    """Return the faults of the unknown names of one object that was given some others."""
    unknown, known, sent = tuple(names), tuple(accepted), frozenset(given)
    return {name: [UnknownField(name, known, sent, len(unknown))] for name in unknown}
