"""The shape of a page that is ready to be written: address, title, body, and the log entry that last touched it."""

from dataclasses import dataclass
from typing import Any

from site_builder.markup import Html

Document = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Touch:
    """An entry of the log: its number and its moment."""

    number: int
    moment: str


@dataclass(frozen=True, slots=True)
class Page:
    """A page of the site: its address, its title, its body, which part of the site it is in, and what touched it last.

    A page without a touch belongs to the program, not to the record.
    """

    address: str
    title: str
    body: Html
    section: str
    touch: Touch | None = None


def latest(touches: list[Touch]) -> Touch:
    """Return the latest of several touches of the log."""
    return max(touches, key=lambda touch: touch.number)
