"""Nested validation messages as a flat list of faults, each with a JSON pointer that resolves in what was sent."""

from collections.abc import Iterator
from itertools import islice
from typing import Any

from api.records.differences import pointer_step

MOST_FAULTS = 100


def faults_from(messages: Any, content: Any) -> tuple[list[dict[str, str]], bool]:
    """Return the faults, 100 at most, and whether there were more.

    A pointer never leaves what was sent: a missing field is pointed at through the object that lacks it, by name in the
    detail.
    """
    found = list(islice(_walk(messages, content, "#"), MOST_FAULTS + 1))
    return found[:MOST_FAULTS], len(found) > MOST_FAULTS


def merged(first: Any, second: Any) -> Any:
    """Return the nested messages of two checks as one: what either found is told, wherever the other found something."""
    if not first or not second:
        return first or second
    if isinstance(first, list) and isinstance(second, list):
        return [*first, *second]
    one, other = ({"_schema": found} if isinstance(found, list) else found for found in (first, second))
    return {name: merged(one.get(name), other.get(name)) for name in dict.fromkeys((*one, *other))}


def _walk(messages: Any, content: Any, pointer: str) -> Iterator[dict[str, str]]:
    if isinstance(messages, dict):
        for name, below in messages.items():
            if name == "_schema":
                yield from _walk(below, content, pointer)
            elif _holds(content, name):
                yield from _walk(below, content[name], pointer + pointer_step(name))
            else:
                yield from (_named(fault, name) for fault in _walk(below, None, pointer))
    elif isinstance(messages, (list, tuple)):
        for message in messages:
            yield from _walk(message, content, pointer)
    else:
        detail = str(messages)
        yield {"pointer": pointer, "detail": detail, "code": _code(detail)}


def _holds(content: Any, name: Any) -> bool:
    if isinstance(content, dict):
        return name in content
    return isinstance(content, list) and isinstance(name, int) and 0 <= name < len(content)


def _named(fault: dict[str, str], name: Any) -> dict[str, str]:
    return fault | {"detail": f"{name}: {fault['detail']}"}


def _code(message: str) -> str:
    if message.startswith("Missing"):
        return "field-missing"
    if message.startswith("Unknown field"):
        return "field-unknown"
    if "is not a unit code" in message:
        return "unit-unknown"
    if message.startswith("Found the number") and "send it as text" in message:
        return "number-not-text"
    return "value-not-accepted"
