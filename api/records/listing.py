"""A list in parts: which part is asked for, the part itself, and where the next one begins.

Every list has a total order: columns to sort by, then what is unique. A part begins after a place in that order, whatever was
put in since, so that what was there all the time comes exactly once.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Final, Generic, TypeVar

T = TypeVar("T")
S = TypeVar("S")
# The values of one item in the order of its list: what to sort by, then what is unique.
Place = tuple[str | int, ...]
MOST_ITEMS: Final = 1000
USUAL_ITEMS: Final = 100


@dataclass(frozen=True, slots=True)
class Part:
    """The part of a list that is asked for: so many items at most, after a place; from the beginning where that is None."""

    limit: int = USUAL_ITEMS
    after: Place | None = None


@dataclass(frozen=True, slots=True)
class Listed(Generic[T]):
    """The part of a list: its items in order, and the place of the last one where more come after it."""

    items: tuple[T, ...]
    next: Place | None = None

    def of(self, read: Callable[[T], S]) -> "Listed[S]":
        """Return the same part with each item as it is to be read."""
        return Listed(tuple(read(item) for item in self.items), self.next)


def part_of(items: Iterable[T], place: Callable[[T], Place], part: Part, *, falling: bool = False) -> Listed[T]:
    """Return a part of items that are in memory, in the order of their places, rising or falling."""
    placed = sorted(((place(item), item) for item in items), key=lambda pair: pair[0], reverse=falling)
    left = [pair for pair in placed if part.after is None or _is_beyond(pair[0], part.after, falling=falling)]
    found = left[: part.limit]
    return Listed(tuple(item for _, item in found), found[-1][0] if len(left) > part.limit else None)


def _is_beyond(place: Place, after: Place, *, falling: bool) -> bool:
    return place < after if falling else place > after
