"""The corners seen from above: each position where it lies to the person's own side, with the error read there.

Standing or sitting, the person faces up the drawing and their left is on its left. Lying on the back with the head at
the top, their left is on the right of the drawing, and the drawing says so.
"""

from decimal import Decimal
from typing import Any, Final

from api.metrology.load_places import goes_by_head_and_foot, seen_from_above
from api.metrology.terms import Position
from site_builder.charts.axes import Drawing, coordinate, picture, words
from site_builder.markup import Child, Html, join, tag
from site_builder.text import in_unit, kilograms, number

PLAN: Final = Drawing("plan", 330, 330, 0, 14, 0)

# Nobody stands on a scale that counts in grams.
_OF_BALANCES: Final = "g"


def place_of(position: Position, lying: bool, six: bool = False) -> tuple[float, float] | None:
    """Return where a position lies on the drawing, as shares from its left and its top; None where it is not drawn.

    What is half way out on the platform comes near the edge of the drawing; a support is drawn where its corner's load is.
    """
    place = seen_from_above(position, lying, six)
    if place is None:
        return None
    x, y = (half / 2 for half in place) if position.startswith("support") else place
    return round(0.5 + 0.6 * x, 2), round(0.5 - 0.66 * y, 2)


def eccentricity_plan(phase: dict[str, Any], unit: str, key: str = "corners") -> Html | None:
    """Return the drawing of one phase's corners, or None where no load was placed off the centre."""
    points = worst_of_each(phase)
    if not points:
        return None
    positions: set[Position] = {point["position"] for point in points}
    lying = any(goes_by_head_and_foot(position) for position in positions)
    six = bool(positions & {"support 5", "support 6"})
    said = "; ".join(_said(point, unit) for point in points)
    standing = "The person faces the top of the drawing: their left is on its left"
    facing = (
        "Head at the top, the person on their back: their left is on the right of the drawing"
        if lying
        else "The front is at the top of the drawing"
        if unit == _OF_BALANCES
        else standing
    )
    return picture(
        PLAN, key, f"Corners seen from above, in {unit}", f"{facing}. Error read: {said}.",
        _platform(lying, positions, unit), [_spot(point, lying, unit, six) for point in points],
    )  # fmt: skip


def worst_of_each(phase: dict[str, Any]) -> list[dict[str, Any]]:
    """Return one point a position, the one with the largest error, in the order first taken."""
    found: dict[str, dict[str, Any]] = {}
    for point in phase["points"]:
        if point["test"] != "eccentricity" or not point.get("position") or point.get("error_kg") is None:
            continue
        before = found.get(point["position"])
        if before is None or abs(Decimal(point["error_kg"])) > abs(Decimal(before["error_kg"])):
            found[point["position"]] = point
    return list(found.values())


def _platform(lying: bool, positions: set[Position], unit: str) -> Html:
    drawn: list[Child] = [
        tag("rect", x=16, y=30, width=298, height=284, rx=10, class_="platform"),
        tag("path", d="M165 30V314M16 172H314", class_="grid"),
    ]
    if any(position.startswith("support") for position in positions):
        label = "supports by number, not by place"
    else:
        label = "head ↑" if lying else "front ↑" if unit == _OF_BALANCES else "the way the person faces ↑"
    drawn.append(words(label, 165, 19, PLAN, "middle"))
    return join(drawn)


def _spot(point: dict[str, Any], lying: bool, unit: str, six: bool) -> Html | None:
    place = place_of(point["position"], lying, six)
    if place is None:
        return None
    x, y = 16 + place[0] * 298, 30 + place[1] * 262
    value = number(in_unit(point["error_kg"], unit), signed=True)
    half = max(32.0, len(value) * 4.7)
    out = point["verdict"] not in ("pass", "not tested")
    ring: list[Child] = [_ring(x, y, half, 32, "spot")]
    if out:
        ring.append(_ring(x, y, half + 5, 37, "spot-out"))
    label = f"{point['position']}: {point['verdict']}" if out else point["position"]
    return join(ring, words(value, x, y + 5, PLAN, "middle", "value"), words(label, x, y + 51, PLAN, "middle"))


def _ring(x: float, y: float, half: float, height: float, class_: str) -> Html:
    return tag("ellipse", cx=coordinate(x), cy=coordinate(y), rx=coordinate(half), ry=coordinate(height), class_=class_)


def _said(point: dict[str, Any], unit: str) -> str:
    return f"{point['position']} {kilograms(point['error_kg'], unit, signed=True)}, {point['verdict']}"
