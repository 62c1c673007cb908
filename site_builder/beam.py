"""The verdict and the answer on use, said twice: as a word, and as a small balance beam of our own. Never by colour alone.

Level: pass. Level, held by a stop: conditional. Tilted: fail. Dashed and hollow: undecided, or not tested.
"""

from functools import cache
from typing import Final

from site_builder.markup import Html, tag

_PIVOT: Final = "M18 9l-4.6 8.4h9.2z"
_HOLLOW: Final = "M18 12l-4 6.4h8z"

# The shape that stands for each word, and the class that gives the colour beside it.
_SHAPES: Final = {
    "pass": "level",
    "conditional pass": "stopped",
    "conditional fail": "tilted stopped",
    "fail": "tilted",
}
_CLASSES: Final = {"pass": "pass", "conditional pass": "cond", "conditional fail": "cond", "fail": "fail"}
_USE_SHAPES: Final = {"may use": "level", "may use within limits": "stopped", "do not use": "tilted"}
_USE_CLASSES: Final = {"may use": "pass", "may use within limits": "cond", "do not use": "fail"}


def beam(shape: str) -> Html:
    """Return the drawing of a beam: `level`, `stopped`, `tilted`, `tilted stopped`, or `open` for no decision."""
    open_ = shape == "open"
    arm = "M4 14.5L32 3.5" if shape.startswith("tilted") else "M3 9H33"
    stop = tag("path", d="M29 13v5M25.5 18h7", class_="beam-stop") if "stopped" in shape else None
    return tag(
        "svg",
        tag("path", d=arm, class_="beam-open" if open_ else "beam-arm"),
        tag("path", d=_HOLLOW if open_ else _PIVOT, class_="beam-hollow" if open_ else "beam-pivot"),
        stop,
        class_="beam", viewBox="0 0 36 20", aria_hidden="true",
    )  # fmt: skip


@cache
def verdict(word: str) -> Html:
    """Return a verdict as its beam and its word."""
    return tag("span", beam(_SHAPES.get(word, "open")), word, class_=f"v {_CLASSES.get(word, 'none')}")


def use_word(may: str) -> Html:
    """Return the answer on use as its beam and its words."""
    return tag("span", use_beam(may), may, class_=f"v {use_class(may)}")


def use_beam(may: str) -> Html:
    """Return the beam that stands for an answer on use."""
    return beam(_USE_SHAPES.get(may, "open"))


def use_class(may: str) -> str:
    """Return the class of an answer on use: pass, cond, fail or none."""
    return _USE_CLASSES.get(may, "none")
