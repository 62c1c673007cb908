"""How a change came about: what was shown before, what was added, how far the display moved, how far it had to."""

from decimal import Decimal
from typing import Any

from api.records.documents import read_mass
from site_builder.pages.tables import Line
from site_builder.text import as_shown, in_unit, kilograms, number


def change(point: dict[str, Any], unit: str) -> list[Line]:
    """Return the lines of a discrimination reading between its load and its verdict."""
    seen = point["change"]
    told: list[Line] = []
    if seen.get("before"):
        told.append(("before", "displayed with the balance load alone", as_shown(seen["before"])))
    if seen.get("added"):
        told.append(("added", _added(seen, unit), as_shown(seen["added"])))
    if seen.get("seen_kg") is not None:
        told.append(("change", "indication − before, exact", kilograms(seen["seen_kg"], unit, signed=True)))
    return [*told, ("required", _required(seen, unit), kilograms(seen["required_kg"], unit))]


def _added(seen: dict[str, Any], unit: str) -> str:
    """Pieces added in another unit than the page's are held against the bound in that of the page."""
    added = read_mass(seen["added"]).kg
    most = Decimal(seen["most_added_kg"])
    return f"at most 1.4 d; {number(in_unit(added, unit))} {'>' if added > most else '≤'} {number(in_unit(most, unit))}"


def _required(seen: dict[str, Any], unit: str) -> str:
    if seen.get("seen_kg") is None:
        return str(seen["source"])
    change_, least = Decimal(seen["seen_kg"]), Decimal(seen["required_kg"])
    sign = "≥" if change_ >= least else "<"
    return f"{seen['source']}; change {number(in_unit(change_, unit))} {sign} required {number(in_unit(least, unit))}"


def change_over(over: dict[str, Any], unit: str) -> list[Line]:
    """What the display hid: small weights were added until it went one step up (OIML R 76-1:2006 A.4.4.3)."""
    added = f"indication + half a step − {as_shown(over['added'])} added up to the change-over; R 76-1:2006 A.4.4.3"
    lines: list[Line] = [
        ("before rounding", added, kilograms(over["point_kg"], unit)),
        ("error, uncorrected", "before rounding − reference, exact", kilograms(over["error_kg"], unit, signed=True)),
    ]
    if over.get("zero_error_kg") is not None:
        zero = kilograms(over["zero_error_kg"], unit, signed=True)
        lines.append(("error at zero", "by its own change-over point", zero))
    return lines


def zero_shift(change: dict[str, Any], unit: str) -> list[Line]:
    """Return the lines of what zero read after a load, against what it read before."""
    return [
        ("change", "zero after the load − zero before it, exact", kilograms(change["kg"], unit, signed=True)),
        ("limit", f"{change['counted']}; {change['source']}", f"±{kilograms(change['limit_kg'], unit)}"),
    ]


def error_words(point: dict[str, Any]) -> str:
    """Return how the error of a point was made."""
    over = point.get("change_over")
    if not over:
        return "indication − reference, exact"
    return (
        "error, uncorrected − error at zero" if over.get("zero_error_kg") is not None else "before rounding − reference"
    )
