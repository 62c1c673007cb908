"""Where two JSON documents differ, as pointers that resolve in one of the two."""

from collections.abc import Iterator
from typing import Any
from urllib.parse import quote

MOST = 100
# What a URI fragment holds as it is, beside letters and digits (RFC 3986 section 3.5).
_FRAGMENT = "!$&'()*+,;=:@/?-._~"


def differing_pointers(sent: Any, kept: Any) -> tuple[str, ...]:
    """Return the JSON pointers (as URI fragments, RFC 6901 section 6) at which two documents differ, 100 at most."""
    found: list[str] = []
    for pointer in _walk(sent, kept, "#"):
        found.append(pointer)
        if len(found) == MOST:
            break
    return tuple(found)


def pointer_step(name: str | int) -> str:
    """Return one step of a JSON pointer, escaped as in a URI fragment (RFC 6901 section 6)."""
    return f"/{quote(str(name).replace('~', '~0').replace('/', '~1'), safe=_FRAGMENT)}"


def _walk(sent: Any, kept: Any, pointer: str) -> Iterator[str]:
    if isinstance(sent, dict) and isinstance(kept, dict):
        for name in sorted(set(sent) | set(kept)):
            step = pointer + pointer_step(name)
            if name in sent and name in kept:
                yield from _walk(sent[name], kept[name], step)
            else:
                yield step
    elif isinstance(sent, list) and isinstance(kept, list):
        for place in range(max(len(sent), len(kept))):
            step = pointer + pointer_step(place)
            if place < min(len(sent), len(kept)):
                yield from _walk(sent[place], kept[place], step)
            else:
                yield step
    elif type(sent) is not type(kept) or sent != kept:
        yield pointer
