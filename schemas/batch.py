"""A batch taken apart: a JSON array, or one JSON text a line (NDJSON), into the bytes of each submission.

Each submission keeps the bytes it was sent with, so that its digest is the app's own. One that cannot be read does not stop
the others; only lost framing does: an array that does not close, a stream of lines that was cut.
"""

import json
from dataclasses import dataclass
from typing import Any, Final

from api.metrology.refusals import Refusal
from schemas.json_members import after_space, end_of
from schemas.strict_json import NotStrictJson, decoded

MOST_ITEMS: Final = 500
MOST_BYTES: Final = 8 * 1024 * 1024


class BatchCut(Refusal):
    """Not all of a batch arrived, or nobody can tell whether all of it did."""

    code = "batch-cut"


class BatchTooLong(Refusal):
    """A batch has more submissions than are taken at once."""

    code = "too-large"


@dataclass(frozen=True, slots=True)
class Item:
    """One submission of a batch: its place from 0, its line from 1 where it came as a line, its bytes."""

    index: int
    line: int | None
    body: bytes


def items_of_array(body: bytes) -> list[Item]:
    """Return the elements of a JSON array; refuses a body that is not one whole array (`NotStrictJson`)."""
    text = decoded(body)
    place = after_space(text, 0)
    if text[place : place + 1] != "[":
        raise NotStrictJson("Not a JSON array of submissions.")
    found: list[Item] = []
    place = after_space(text, place + 1)
    while text[place : place + 1] != "]":
        if found:
            place = after_space(text, _after(text, place, ","))
        end = end_of(text, place)
        found.append(Item(len(found), None, text[place:end].encode()))
        _refuse_more(found)
        place = after_space(text, end)
    if after_space(text, place + 1) != len(text):
        raise NotStrictJson("Something follows the array.")
    return found


def _after(text: str, place: int, mark: str) -> int:
    if text[place : place + 1] != mark:
        raise NotStrictJson(f"The array breaks off, or lacks a comma, at character {place}.")
    return place + 1


def items_of_lines(body: bytes, announced: int | None) -> list[Item]:
    """Return the submissions of NDJSON, one a line; blank lines are passed by.

    `announced` is the length of the body as its sender said, in bytes. Without one, or beside it, a last line
    {"end": true, "count": N} says that all of it is there. Refuses lines of which that cannot be told (`BatchCut`).
    """
    if announced is not None and announced != len(body):
        raise _cut(f"{len(body)} bytes arrived of {announced}.", arrived_bytes=str(len(body)))
    lines = [(number, line.strip()) for number, line in enumerate(body.split(b"\n"), start=1)]
    lines = [(number, line) for number, line in lines if line]
    count = _trailer(lines[-1][1]) if lines else None
    if count is not None:
        lines.pop()
        if count != len(lines):
            raise _cut(f"{len(lines)} lines arrived, the last line tells {count}.", arrived=str(len(lines)))
    elif announced is None:
        raise _cut("Neither Content-Length nor the last line says that all lines arrived.")
    found = [Item(index, number, line) for index, (number, line) in enumerate(lines)]
    _refuse_more(found)
    return found


def _trailer(line: bytes) -> int | None:
    """The count of the line that ends a batch; None of any other line."""
    if len(line) > 100:
        return None
    try:
        said: Any = json.loads(line)
    except (ValueError, RecursionError):
        return None
    ends = isinstance(said, dict) and set(said) == {"end", "count"} and said["end"] is True
    return said["count"] if ends and type(said["count"]) is int else None


def _cut(said: str, **facts: str) -> BatchCut:
    return BatchCut(
        f'{said} Send the whole batch again, with Content-Length or a last line {{"end": true, "count": N}}.', **facts
    )


def _refuse_more(found: list[Item]) -> None:
    if len(found) > MOST_ITEMS:
        raise BatchTooLong(f"More than {MOST_ITEMS} submissions; at most {MOST_ITEMS} are taken in one batch.")
