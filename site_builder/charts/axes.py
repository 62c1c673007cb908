"""The frame of a chart: a linear scale from values to drawing units, round marks on it, grid lines and their numbers.

A chart is drawn twice, wide and narrow; the stylesheet shows the one that fits, so that its letters never shrink.
"""

import math
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from site_builder.markup import Child, Html, join, tag
from site_builder.text import number


@dataclass(frozen=True, slots=True)
class Drawing:
    """The size of a drawing and of the letters in it, in drawing units, and which screens it is for."""

    name: str
    width: int
    height: int
    left: int
    letters: int
    marks: int

    @property
    def right(self) -> int:
        """Where the plot ends to the right."""
        return self.width - 16

    @property
    def top(self) -> int:
        """Where the plot begins, from above."""
        return 30

    @property
    def bottom(self) -> int:
        """Where the plot ends, from above; the numbers of the lower axis stand below it."""
        return self.height - 44


WIDE: Final = Drawing("wide", 560, 320, 62, 13, 6)
NARROW: Final = Drawing("narrow", 350, 310, 58, 14, 5)
BOTH: Final = (WIDE, NARROW)


@dataclass(frozen=True, slots=True)
class Axis:
    """A linear scale: the values at its two ends and where these ends lie in the drawing."""

    low: float
    high: float
    start: float
    end: float

    def holds(self, value: float | Decimal) -> bool:
        """Whether a value lies between the two ends."""
        return self.low <= float(value) <= self.high

    def at(self, value: float | Decimal) -> float:
        """Return where a value lies in the drawing; one beyond an end lies on it."""
        value = min(max(float(value), self.low), self.high)
        return self.start + (value - self.low) / (self.high - self.low) * (self.end - self.start)


def round_steps(low: float, high: float, wanted: int) -> tuple[Decimal, ...]:
    """Return round numbers from at or below `low` to at or above `high`, in steps of 1, 2, 2.5 or 5 times a power of ten.

    >>> [str(step) for step in round_steps(-0.17, 0.2, 4)]
    ['-0.2', '-0.1', '0.0', '0.1', '0.2']
    """
    span = high - low or abs(high) or 1.0
    rough = span / max(wanted, 1)
    power = math.floor(math.log10(rough))
    step = next(
        candidate
        for candidate in (Decimal(text).scaleb(power) for text in ("1", "2", "2.5", "5", "10"))
        if float(candidate) >= rough * 0.999
    )
    first = math.floor(low / float(step) + 1e-9)
    last = math.ceil(high / float(step) - 1e-9)
    return tuple(step * count for count in range(first, last + 1))


def coordinate(value: float) -> str:
    """Return a place in a drawing with one decimal, which is finer than any screen shows."""
    return f"{value:.1f}".replace("-0.0", "0.0")


def path(points: list[tuple[float, float]], closed: bool = False) -> str:
    """Return the path through several places."""
    steps = " L".join(f"{coordinate(x)} {coordinate(y)}" for x, y in points)
    return f"M{steps}{'Z' if closed else ''}"


def words(text: str, x: float, y: float, drawing: Drawing, anchor: str = "start", class_: str | None = None) -> Html:
    """Return a text in a drawing, in the drawing's own letter size."""
    return tag(
        "text", text, x=coordinate(x), y=coordinate(y), text_anchor=anchor, font_size=drawing.letters, class_=class_
    )


def error_axis(values: list[float], drawing: Drawing) -> tuple[Axis, tuple[Decimal, ...]]:
    """Return the upright axis for errors, as far below zero as above it, and its marks."""
    reach = max((abs(value) for value in values), default=1.0) or 1.0
    steps = round_steps(-reach * 1.04, reach * 1.04, drawing.marks)
    return Axis(float(steps[0]), float(steps[-1]), drawing.bottom, drawing.top), steps


def error_marks(axis: Axis, steps: tuple[Decimal, ...], drawing: Drawing, unit: str) -> Html:
    """Return the grid lines of an error axis with their numbers, zero stronger, and the unit above."""
    lines: list[Child] = [words(f"error, {unit}", 4, drawing.top - 14, drawing)]
    for step in steps:
        y = axis.at(step)
        lines.append(
            tag("path", d=f"M{drawing.left} {coordinate(y)}H{drawing.right}", class_="zero" if step == 0 else "grid")
        )
        lines.append(words(number(step, signed=True), drawing.left - 7, y + 4.5, drawing, "end"))
    return join(lines)


def lower_marks(places: list[tuple[float, str]], drawing: Drawing, title: str | None = None) -> Html:
    """Return the numbers or dates under the plot, and what they are; the outermost stay inside the drawing."""
    marks: list[Child] = []
    for x, text in places:
        half = len(text) * drawing.letters * 0.27
        anchor, where = ("end", drawing.width - 3) if x + half > drawing.width else ("middle", x)
        marks.append(tag("path", d=f"M{coordinate(x)} {drawing.bottom}v5", class_="mark"))
        marks.append(words(text, where, drawing.bottom + 19, drawing, anchor))
    if title:
        marks.append(words(title, drawing.right, drawing.height - 6, drawing, "end"))
    return join(marks)


def picture(drawing: Drawing, key: str, title: str, description: str, *inside: Child) -> Html:
    """Return one drawing as an image with its title and description; `key` makes its ids unique on the page."""
    name, said = f"{key}-{drawing.name}-title", f"{key}-{drawing.name}-desc"
    return tag(
        "svg",
        tag("title", title, id=name),
        tag("desc", description, id=said),
        inside,
        class_=f"chart {drawing.name}",
        viewBox=f"0 0 {drawing.width} {drawing.height}",
        role="img",
        aria_labelledby=f"{name} {said}",
    )
