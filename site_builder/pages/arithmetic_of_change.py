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


def change_over(point: dict[str, Any], unit: str) -> list[Line]:
    """What the display hid: small weights were added until it went one step up (OIML R 76-1:2006 A.4.4.3)."""
    over, shown = point["change_over"], read_mass(point["indication"]).kg
    small = read_mass(over["added"]).kg
    half = Decimal(over["point_kg"]) - shown + small
    sum_ = " ".join((number(in_unit(shown, unit)), "+", number(in_unit(half, unit)), "−", number(in_unit(small, unit))))
    added = f"indication + half a step − added up to the change-over = {sum_}; OIML R 76-1:2006 A.4.4.3"
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
        (
            "change",
            f"zero after the load − zero before it{_sum(change, unit)}",
            kilograms(change["kg"], unit, signed=True),
        ),
        ("limit", f"{change['counted']}; {change['source']}{_held(change, unit)}", _limit(change, unit)),
    ]


def timed_changes(changes: list[dict[str, Any]], unit: str) -> list[Line]:
    """Return the lines of what a load left alone showed from one minute to a later one."""
    told: list[Line] = []
    for change in changes:
        minutes = f"from minute {number(change['from_minutes'])} to {number(change['to_minutes'])}"
        how = f"at {kilograms(change['load_kg'], unit)}{_sum(change, unit)}; limit {change['counted']}{_held(change, unit)}"
        told.append((minutes, how, kilograms(change["kg"], unit, signed=True)))
    return told


def _limit(change: dict[str, Any], unit: str) -> str:
    return f"±{kilograms(change['limit_kg'], unit)}"


def _sum(change: dict[str, Any], unit: str) -> str:
    """The two readings of a change; the first version of the working kept only their difference."""
    if "before_kg" not in change:
        return ", exact"
    return f" = {number(in_unit(change['after_kg'], unit))} − {number(in_unit(change['before_kg'], unit))}, exact"


def _held(change: dict[str, Any], unit: str) -> str:
    """The change against its limit, with what rounding may hide of it where that is anything."""
    size, limit = abs(Decimal(change["kg"])), Decimal(change["limit_kg"])
    hidden = Decimal(change.get("hidden_kg", 0))
    sign = "≤" if size <= limit else ">"
    said = f"; |change| {number(in_unit(size, unit))} {sign} {number(in_unit(limit, unit))}"
    return f"{said}, of which rounding may hide {number(in_unit(hidden, unit))} either way" if hidden else said


def error_words(point: dict[str, Any]) -> str:
    """Return how the error of a point was made."""
    over = point.get("change_over")
    if not over:
        return "indication − reference, exact"
    return (
        "error, uncorrected − error at zero" if over.get("zero_error_kg") is not None else "before rounding − reference"
    )
