"""The error of a weighing in use over the load, with U about it and the tolerance beside; hatched where nothing is proven."""

from decimal import Decimal
from typing import Any

from site_builder.charts.axes import (
    BOTH,
    Axis,
    Drawing,
    coordinate,
    error_axis,
    error_marks,
    lower_marks,
    path,
    picture,
    round_steps,
)  # fmt: skip
from site_builder.charts.error_against_load import class_of
from site_builder.charts.tolerance_steps import Step, tolerance_steps
from site_builder.markup import Html, join, tag
from site_builder.text import in_unit, kilograms, number

_HATCH = 9  # drawing units from line to line


def worth_over_load(answer: dict[str, Any], judged: dict[str, Any], unit: str) -> Html | None:
    """Return the drawings of an answer on weighing, wide and narrow; None where there is no proven range to draw.

    `judged` is the working of the visit that the answer rests on: the tolerance's steps come from it.
    """
    rows = [row for row in answer["readings"] if "expanded_kg" in row]
    if "proven_to_kg" not in answer or len(rows) < 2:
        return None
    phase = judged.get("as_left") or judged["as_found"]
    in_use = {**phase, "scheme": {**phase["scheme"], "stage": answer["tolerance_stage"]}}
    steps = tolerance_steps(in_use, class_of(judged))
    said = _description(answer, rows, unit)
    return join(_draw(drawing, answer, rows, steps, unit, said) for drawing in BOTH)


def _draw(
    drawing: Drawing, answer: dict[str, Any], rows: list[dict[str, Any]], steps: tuple[Step, ...], unit: str, said: str
) -> Html:
    top = max(float(in_unit(claim["to_kg"], unit)) for claim in answer["claims"])
    marks = round_steps(0, top, drawing.marks - 1)
    x = Axis(0, float(marks[-1]), drawing.left, drawing.right - 8)
    band = [
        tuple(float(in_unit(row[name], unit)) for name in ("reading_kg", "error_kg", "expanded_kg")) for row in rows
    ]
    reach = [abs(error) + u for _, error, u in band] + [float(in_unit(step.at_to, unit)) for step in steps]
    y, error_steps = error_axis(reach, drawing)
    upper = [(x.at(load), y.at(error + u)) for load, error, u in band]
    lower = [(x.at(load), y.at(error - u)) for load, error, u in reversed(band)]
    ends = [x.at(in_unit(answer[name], unit)) for name in ("proven_from_kg", "proven_to_kg")]
    return picture(
        drawing, "worth", "What a weighing is worth, over the load", said,
        tag("path", d=path(upper + lower, closed=True), class_="worth"),
        error_marks(y, error_steps, drawing, unit),
        lower_marks([(x.at(mark), number(mark)) for mark in marks], drawing, f"reading, {unit}"),
        _hatched(x.start, ends[0], drawing), _hatched(ends[1], x.at(top), drawing),
        [_limit(steps, x, y, unit, sign) for sign in (1, -1)],
        [tag("path", d=f"M{coordinate(end)} {drawing.top}V{drawing.bottom}", class_="ends") for end in ends],
        tag("path", d=path([(x.at(load), y.at(error)) for load, error, _ in band]), class_="line-left"),
    )  # fmt: skip


def _limit(steps: tuple[Step, ...], x: Axis, y: Axis, unit: str, sign: int) -> Html | None:
    corners = [
        (x.at(in_unit(load, unit)), y.at(sign * in_unit(limit, unit)))
        for step in steps
        for load, limit in ((step.from_kg, step.at_from), (step.to_kg, step.at_to))
    ]
    return tag("path", d=path(corners), class_="limit") if corners else None


def _hatched(left: float, right: float, drawing: Drawing) -> Html | None:
    """Slanting lines over a stretch of loads, each clipped to it by hand: no pattern that another drawing could share."""
    if right - left < 1:
        return None
    top, bottom = drawing.top, drawing.bottom
    height = bottom - top
    lines = []
    start = left - height
    while start < right:
        # a line from (start, bottom) up to (start + height, top)
        a, b = max(start, left), min(start + height, right)
        if b > a:
            lines.append(
                f"M{coordinate(a)} {coordinate(bottom - (a - start))}L{coordinate(b)} {coordinate(bottom - (b - start))}"
            )
        start += _HATCH
    return tag("path", d="".join(lines), class_="hatch")


def _description(answer: dict[str, Any], rows: list[dict[str, Any]], unit: str) -> str:
    low, high = (kilograms(answer[name], unit) for name in ("proven_from_kg", "proven_to_kg"))
    most = max(rows, key=lambda row: Decimal(row["uncorrected_kg"]))
    return (
        f"Proven from {low} to {high}; hatched outside. The error with U about it stays within "
        f"{kilograms(most['uncorrected_kg'], unit)} of zero, the most at {kilograms(most['reading_kg'], unit)}."
    )
