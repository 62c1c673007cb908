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
