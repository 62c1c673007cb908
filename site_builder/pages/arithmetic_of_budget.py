"""The table of a budget: its contributions to u, each with what it was worked out from."""

import math
from typing import Any

from api.records.working_of_points import degrees_in
from site_builder.markup import Child, Html
from site_builder.pages.measurement import phases_of
from site_builder.pages.tables import Column, table
from site_builder.text import UNIT_SPACE, kilograms, number, three_digits, unit_word

_DISTRIBUTIONS = {"t": "Student's t"}


def budgets_of(judged: dict[str, Any], unit: str) -> dict[tuple[int, ...], Html]:
    """The table of each budget by its contributions; the weighings of one load share one."""
    used = dict.fromkeys(contributions_of(point) for _, _, phase in phases_of(judged) for point in phase["points"])
    return {indexes: _budget(indexes, judged, unit) for indexes in used if indexes}


def contributions_of(point: dict[str, Any]) -> tuple[int, ...]:
    """Return the places of a point's contributions in the visit's list, which tell one budget from another."""
    return tuple(point.get("contributions") or ())


def _budget(indexes: tuple[int, ...], judged: dict[str, Any], unit: str) -> Html:
    columns = (
        Column("Contribution"), Column(f"u, {unit}", numeric=True), Column("Distribution"),
        Column("Degrees of freedom", numeric=True), Column("Source"), Column("From"),
    )  # fmt: skip
    rows = [_contribution(judged["contributions"][index], unit) for index in indexes]
    return table(columns, rows, "The contributions to u, each a standard uncertainty", "budget")


def _contribution(line: dict[str, Any], unit: str) -> list[Child]:
    return [
        line["name"],
        three_digits(line["standard_uncertainty_kg"], unit),
        _DISTRIBUTIONS.get(line["distribution"], line["distribution"]),
        degrees_told(line) or "∞",
        line["source"],
        "; ".join(_input(symbol, said, unit) for symbol, said in line.get("inputs", {}).items()),
    ]


def _input(symbol: str, said: dict[str, str], unit: str) -> str:
    """One value of a contribution's formula: a mass in the unit of the page, another quantity in its own."""
    if said["unit"] == "kg":
        return f"{symbol} = {kilograms(said['value'], unit)}"
    return f"{symbol} = {number(said['value'])}{'' if said['unit'] == '1' else UNIT_SPACE + unit_word(said['unit'])}"


def degrees_told(of: dict[str, Any]) -> str | None:
    """Finite degrees of freedom in words, or None; the first version of the working left infinite ones out."""
    degrees = degrees_in(of)
    return None if math.isinf(degrees) else number(f"{degrees:.0f}")
