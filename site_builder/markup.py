"""HTML and SVG elements as values: whatever is not known to be markup is text, and is escaped.

A plain `str` given as a child or an attribute always goes through `text.escaped`; only what `tag` and `join` made is
markup. No element gets a style or script of its own.
"""

from collections.abc import Iterable
from functools import lru_cache
from typing import Final

from site_builder.text import escaped

_EMPTY: Final = frozenset({"br", "hr", "meta", "link"})


class Html(str):
    """Text that is markup already, made by `tag` or `join` and by nothing else."""

    __slots__ = ()


Child = str | None | Iterable["Child"]


def tag(name: str, *children: Child, **attributes: str | int | bool | None) -> Html:
    """Return an element. `class_` stands for class, underscores for hyphens; an attribute of None or False is left out.

    >>> tag("p", "5 < 6", class_="why")
    '<p class="why">5 &lt; 6</p>'
    """
    opened = f"<{name}{''.join([_attribute(key, value) for key, value in attributes.items()])}>"
    if name in _EMPTY:
        return Html(opened)
    return Html(f"{opened}{''.join([_piece(child) for child in children])}</{name}>")


@lru_cache(maxsize=4096, typed=True)  # a page says the same few thousand times; True is not 1
def _attribute(key: str, value: str | int | bool | None) -> str:
    if value is None or value is False:
        return ""
    name = key.rstrip("_").replace("_", "-")
    return f" {name}" if value is True else f' {name}="{escaped(str(value))}"'


def join(*children: Child) -> Html:
    """Return several children after one another, every plain text escaped."""
    return Html("".join([_piece(child) for child in children]))


def _piece(child: Child) -> str:
    if child is None:
        return ""
    if isinstance(child, Html):
        return child
    if isinstance(child, str):
        return escaped(child)
    return "".join([_piece(inner) for inner in child])


def between(separator: str, children: Iterable[Child]) -> Html:
    """Return the children that are there, with a separator between them."""
    pieces = [piece for piece in (_piece(child) for child in children) if piece]
    return Html(escaped(separator).join(pieces))
