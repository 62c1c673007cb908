"""The error near the top of the scale over the years: as found, as left, and every adjustment as a dotted drop."""

from dataclasses import dataclass
from datetime import date
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
    words,
)  # fmt: skip
from site_builder.charts.error_against_load import own_as_left
from site_builder.markup import Child, Html, join, tag
from site_builder.text import day, in_unit, kilograms


@dataclass(frozen=True, slots=True)
class Visit:
    """One visit at the span load: its day, the errors found and left (None where not read), and the tolerance found."""

    on: str
    load_kg: str
    found_kg: str | None
    left_kg: str | None
    tolerance_kg: str | None
    adjusted: bool
    verdict: str


def visits_at_span(history: list[dict[str, Any]]) -> list[Visit]:
    """Return every visit that has a reading at or nearest below the newest span load, oldest first."""
    judged = [h for h in history if h.get("working")]
    target = next((load for item in judged if (load := _span_load(item["working"]))), None)
    if target is None:
        return []
    found = [visit for item in judged if (visit := _visit(item, target))]
    return sorted(found, key=lambda visit: visit.on)


def _span_load(judged: dict[str, Any]) -> Decimal | None:
    """The load at which the span was adjusted, else the heaviest that was read."""
    if judged.get("span"):
        return Decimal(judged["span"]["load_kg"])
    phase = judged.get("as_found") or judged.get("as_left")
    loads = [Decimal(p["nominal_kg"]) for p in (phase or {}).get("points", []) if p.get("error_kg") is not None]
    return max(loads, default=None)


def _visit(item: dict[str, Any], target: Decimal) -> Visit | None:
    judged = item["working"]
    found, left = _point(judged.get("as_found"), target), _point(own_as_left(judged), target)
    either = found or left
    if either is None:
        return None
    return Visit(
        item["performed_from"][:10],
        either["nominal_kg"],
        found["error_kg"] if found else None,
        (left or either)["error_kg"],
        either.get("tolerance_kg"),
        bool(judged.get("adjusted")),
        either["verdict"],
    )


def _point(phase: dict[str, Any] | None, target: Decimal) -> dict[str, Any] | None:
    """The point with the load going up at the target load, or else the heaviest below it but above half of it."""
    points = [
        p
        for p in (phase or {}).get("points", [])
        if p["test"] == "increasing" and p.get("error_kg") is not None
        and target / 2 < Decimal(p["nominal_kg"]) <= target
    ]  # fmt: skip
    return max(points, key=lambda p: Decimal(p["nominal_kg"]), default=None)


def years_at_span(visits: list[Visit], due: str | None, unit: str) -> Html | None:
    """Return the two drawings of the visits, or None where there are fewer than two: one dot is no story."""
    if len(visits) < 2:
        return None
    return join(_draw(drawing, visits, due, unit) for drawing in BOTH)


def _draw(drawing: Drawing, visits: list[Visit], due: str | None, unit: str) -> Html:
    first, last = _years(visits, due)
    x = Axis(date(first, 1, 1).toordinal(), date(last, 1, 1).toordinal(), drawing.left + 6, drawing.right)
    values = [float(in_unit(e, unit)) for v in visits for e in (v.found_kg, v.left_kg, v.tolerance_kg) if e]
    y, steps = error_axis(values, drawing)
    return picture(
        drawing, "years", f"Error near {kilograms(visits[-1].load_kg, unit)} over the years", _description(visits, unit),
        _tolerance(visits, x, y, unit),
        error_marks(y, steps, drawing, unit),
        lower_marks(_year_places(first, last, x, drawing), drawing),
        _due(due, x, drawing),
        _course(visits, x, y, unit),
    )  # fmt: skip


def _years(visits: list[Visit], due: str | None) -> tuple[int, int]:
    last = max([visits[-1].on, due or ""])
    return int(visits[0].on[:4]), int(last[:4]) + 1


def _year_places(first: int, last: int, x: Axis, drawing: Drawing) -> list[tuple[float, str]]:
    every = max(1, -(-(last - first) // (drawing.marks + 1)))
    return [(x.at(date(year, 1, 1).toordinal()), str(year)) for year in range(first, last + 1, every)]


def _day(text: str) -> int:
    return date.fromisoformat(text[:10]).toordinal()


def _tolerance(visits: list[Visit], x: Axis, y: Axis, unit: str) -> Html | None:
    """The tolerance that was applied as found, from each visit on, as it stepped over the years."""
    known = [(visit.on, in_unit(visit.tolerance_kg, unit)) for visit in visits if visit.tolerance_kg]
    if not known:
        return None
    places: list[tuple[float, Decimal]] = []
    for number_, (on, limit) in enumerate(known):
        begin = x.start if number_ == 0 else x.at(_day(on))
        end = x.end if number_ == len(known) - 1 else x.at(_day(known[number_ + 1][0]))
        places += [(begin, limit), (end, limit)]
    upper = [(place, y.at(limit)) for place, limit in places]
    lower = [(place, y.at(-limit)) for place, limit in reversed(places)]
    return tag("path", d=path(upper + lower, closed=True), class_="tolerance")


def _due(due: str | None, x: Axis, drawing: Drawing) -> Html | None:
    if due is None:
        return None
    place = x.at(_day(due))
    anchor = "end" if place > drawing.width - 60 else "middle"
    return join(
        tag("path", d=f"M{coordinate(place)} {drawing.top}V{drawing.bottom}", class_="due-line"),
        words("due", place + (3 if anchor == "end" else 0), drawing.top - 6, drawing, anchor),
    )


def _course(visits: list[Visit], x: Axis, y: Axis, unit: str) -> Html:
    drawn: list[Child] = []
    before: tuple[float, float] | None = None
    for visit in visits:
        place = x.at(_day(visit.on))
        found = y.at(in_unit(visit.found_kg, unit)) if visit.found_kg is not None else None
        left = y.at(in_unit(visit.left_kg, unit)) if visit.left_kg is not None else None
        if before is not None and found is not None:
            drawn.append(tag("path", d=path([before, (place, found)]), class_="line-found"))
        if visit.adjusted and found is not None and left is not None:
            drawn.append(_drop(place, found, left))
        if found is not None:
            drawn.append(tag("circle", cx=coordinate(place), cy=coordinate(found), r="5.4", class_="dot-found"))
        if left is not None:
            drawn.append(tag("circle", cx=coordinate(place), cy=coordinate(left), r="3.4", class_="dot-left"))
        before = (place, left) if left is not None else None
    return join(drawn)


def _drop(place: float, found: float, left: float) -> Html:
    return tag("path", d=f"M{coordinate(place)} {coordinate(found)}V{coordinate(left)}", class_="drop")


def _description(visits: list[Visit], unit: str) -> str:
    said = []
    for visit in visits:
        found = (
            f"found {kilograms(visit.found_kg, unit, signed=True)}"
            if visit.found_kg is not None
            else "not read as found"
        )
        left = (
            f", adjusted, left {kilograms(visit.left_kg, unit, signed=True)}"
            if visit.adjusted and visit.left_kg
            else ""
        )
        said.append(f"{day(visit.on)}: {found}{left}")
    return "; ".join(said) + "."
