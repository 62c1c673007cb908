"""Error against load: as found hollow and dashed, as left filled with whiskers of U, the tolerance as shaded steps."""

import math
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from api.metrology.terms import AccuracyClass
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
    words,
)  # fmt: skip
from site_builder.charts.tolerance_steps import Step, tolerance_steps
from site_builder.markup import Child, Html, join, tag
from site_builder.text import in_unit, kilograms, listed, number

# One result far out must not flatten the others: beyond so many tolerances a value is marked at the edge. Our choice.
_TOLERANCES_DRAWN = 3
_RUN = ("zero found", "zero set", "increasing", "decreasing")


@dataclass(frozen=True, slots=True)
class Curve:
    """One phase to draw: points of load, error and U (None where it has none), all in the unit of the page."""

    points: tuple[tuple[float, float, float | None], ...]
    returning: tuple[tuple[float, float], ...]
    steps: tuple[Step, ...]
    stage: str


def error_against_load(judged: dict[str, Any], unit: str) -> Html | None:
    """Return the two drawings of a judged visit, or None where no error was judged."""
    curves = _curves(judged, unit)
    if not curves:
        return None
    said = _description(judged, unit)
    return join(_draw(drawing, curves, unit, said) for drawing in BOTH)


def lies_beyond(judged: dict[str, Any], unit: str) -> bool:
    """Return whether any result lies beyond the drawing, and is marked at its edge."""
    curves = _curves(judged, unit)
    axes = [error_axis(_reach(curves, unit), drawing)[0] for drawing in BOTH]
    return any(not y.holds(error) for y in axes for curve in curves.values() for _, error, _ in curve.points)


def _curves(judged: dict[str, Any], unit: str) -> dict[str, Curve]:
    return {
        name: curve
        for name, phase in (("found", judged.get("as_found")), ("left", own_as_left(judged)))
        if phase and (curve := _curve(phase, class_of(judged), unit)).points
    }


def class_of(judged: dict[str, Any]) -> AccuracyClass:
    """Return the accuracy class a visit was judged in; `none` where the scale was not on the register that day."""
    found: AccuracyClass = judged.get("device", {}).get("accuracy_class", "none")
    return found


def own_as_left(judged: dict[str, Any]) -> dict[str, Any] | None:
    """Return the as left phase where it rests on readings of its own; else the as found readings are all there is."""
    return judged.get("as_left") if judged.get("as_left_rests_on") == "own readings" else None


def run_points(phase: dict[str, Any]) -> list[dict[str, Any]]:
    """Return the points of a phase that belong to the run over the loads and have an error."""
    return [p for p in phase["points"] if p["test"] in _RUN and p.get("error_kg") is not None]


def _curve(phase: dict[str, Any], accuracy_class: AccuracyClass, unit: str) -> Curve:
    points = sorted(
        (
            float(in_unit(p["nominal_kg"], unit)),
            float(in_unit(p["error_kg"], unit)),
            float(in_unit(p["printed_kg"], unit)) if p.get("printed_kg") else None,
        )
        for p in run_points(phase)
        if p["test"] != "decreasing"
    )
    returning = sorted(
        (float(in_unit(p["nominal_kg"], unit)), float(in_unit(p["error_kg"], unit)))
        for p in run_points(phase)
        if p["test"] == "decreasing"
    )
    return Curve(tuple(points), tuple(returning), tolerance_steps(phase, accuracy_class), phase["scheme"]["stage"])


def _draw(drawing: Drawing, curves: dict[str, Curve], unit: str, said: str) -> Html:
    loads = [load for curve in curves.values() for load, _, _ in curve.points]
    tops = [float(in_unit(step.to_kg, unit)) for curve in curves.values() for step in curve.steps]
    marks = round_steps(0, max(loads + tops), drawing.marks - 1)
    x = Axis(0, float(marks[-1]), drawing.left, drawing.right - 8)
    y, steps = error_axis(_reach(curves, unit), drawing)
    return picture(
        drawing, "load", "Error against load", said,
        _tolerances(curves, x, y, unit),
        error_marks(y, steps, drawing, unit),
        lower_marks([(x.at(mark), number(mark)) for mark in marks], drawing, f"load, {unit}"),
        _lines(curves, x, y, drawing),
    )  # fmt: skip


def _reach(curves: dict[str, Curve], unit: str) -> list[float]:
    whiskered = "left" if "left" in curves else "found"
    errors = [
        abs(error) + (u or 0 if name == whiskered else 0) for name, c in curves.items() for _, error, u in c.points
    ]
    back = [error for curve in curves.values() for _, error in curve.returning]
    limits = [float(in_unit(step.at_to, unit)) for curve in curves.values() for step in curve.steps]
    most = _TOLERANCES_DRAWN * max(limits, default=math.inf)
    return [min(abs(value), most) for value in errors + back] + limits


def _tolerances(curves: dict[str, Curve], x: Axis, y: Axis, unit: str) -> Html:
    """The tolerance that was applied as found is shaded; one that differs as left is an outline within it."""
    shaded = curves.get("found") or curves["left"]
    outlines: list[Child] = [_area(shaded.steps, x, y, unit, "tolerance")]
    left = curves.get("left")
    if left is not None and left.steps != shaded.steps:
        outlines.append(_area(left.steps, x, y, unit, "tolerance-left"))
    return join(outlines)


def _area(steps: tuple[Step, ...], x: Axis, y: Axis, unit: str, class_: str) -> Html | None:
    if not steps:
        return None
    corners = [
        (x.at(in_unit(load, unit)), in_unit(limit, unit))
        for step in steps
        for load, limit in ((step.from_kg, step.at_from), (step.to_kg, step.at_to))
    ]
    upper = [(place, y.at(limit)) for place, limit in corners]
    lower = [(place, y.at(-limit)) for place, limit in reversed(corners)]
    return tag("path", d=path(upper + lower, closed=True), class_=class_)


def _lines(curves: dict[str, Curve], x: Axis, y: Axis, drawing: Drawing) -> Html:
    drawn: list[Child] = []
    for name in ("found", "left"):
        if curve := curves.get(name):
            drawn.append(tag("path", d=path([(x.at(p[0]), y.at(p[1])) for p in curve.points]), class_=f"line-{name}"))
    only = "left" if "left" in curves else "found"
    drawn += [_whisker(x.at(load), y, error - u, error + u) for load, error, u in curves[only].points if u]
    drawn += [_tick(x.at(load), y.at(error)) for curve in curves.values() for load, error in curve.returning]
    for name in ("found", "left"):
        if curve := curves.get(name):
            drawn += [
                _dot(x.at(load), y.at(error), name) if y.holds(error) else _outside(x.at(load), y, error, drawing)
                for load, error, _ in curve.points
            ]
    return join(drawn)


def _whisker(x: float, y: Axis, low: float, high: float) -> Html:
    """U about a result: closed by a short line at each end that lies in the drawing."""
    left = coordinate(x - 4)
    ends = "".join(f"M{left} {coordinate(y.at(end))}h8" for end in (low, high) if y.holds(end))
    return tag("path", d=f"M{coordinate(x)} {coordinate(y.at(low))}V{coordinate(y.at(high))}{ends}", class_="whisker")


def _dot(x: float, y: float, name: str) -> Html:
    return tag("circle", cx=coordinate(x), cy=coordinate(y), r="4.2", class_=f"dot-{name}")


def _outside(x: float, y: Axis, error: float, drawing: Drawing) -> Html:
    """A result beyond the drawing: a triangle at the edge that points to it, and its value."""
    edge, inward = y.at(error), 1 if error > 0 else -1
    said = number(f"{error:.6g}", signed=True)
    anchor, beside = ("end", -9) if x > drawing.width / 2 else ("start", 9)
    return join(
        tag("path", d=f"M{coordinate(x - 6)} {coordinate(edge + 11 * inward)}h12l-6 {-11 * inward}z", class_="outside"),
        words(said, x + beside, edge + (11 if error > 0 else -2), drawing, anchor, "value"),
    )


def _tick(x: float, y: float) -> Html:
    """A point taken with the load going down: a small triangle, apex down."""
    return tag("path", d=f"M{coordinate(x - 6)} {coordinate(y - 4)}h12l-6 11z", class_="returning")


def _description(judged: dict[str, Any], unit: str) -> str:
    parts = []
    for name, phase in (("As found", judged.get("as_found")), ("As left", own_as_left(judged))):
        points = run_points(phase) if phase else []
        if phase and points:
            worst = max(points, key=lambda p: abs(Decimal(p["error_kg"])))
            parts.append(
                f"{name}, the largest error is {kilograms(worst['error_kg'], unit, signed=True)} at "
                f"{kilograms(worst['nominal_kg'], unit)}, verdict {phase['verdict']}."
            )
            parts += _tolerance_words(phase, class_of(judged), unit)
    return " ".join(parts)


def _tolerance_words(phase: dict[str, Any], accuracy_class: AccuracyClass, unit: str) -> list[str]:
    steps = tolerance_steps(phase, accuracy_class)
    if not steps:
        return []
    said = [f"{kilograms(s.at_to, unit)} up to {kilograms(s.to_kg, unit)}" for s in steps]
    return [f"Tolerance ({phase['scheme']['stage']}): {listed(said, 'then')}."]
