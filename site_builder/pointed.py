"""What a pointer (RFC 6901, with a leading #) leads to in what was sent."""

from collections.abc import Iterable
from typing import Any


def steps_of(pointer: str) -> list[str]:
    """Return the steps of a pointer: `#/checks/2` is `checks`, `2`."""
    return pointer.removeprefix("#").strip("/").split("/")


def inside(where: Any, steps: Iterable[str]) -> Any:
    """Return what the steps lead to, or None where they lead nowhere."""
    for step in steps:
        if isinstance(where, list):
            where = where[int(step)] if step.isdigit() and int(step) < len(where) else None
        else:
            where = where.get(step) if isinstance(where, dict) else None
    return where
