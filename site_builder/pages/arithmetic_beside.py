"""How the numbers beside a verdict came about: what the ward itself needs, and the minimum weight of a balance."""

from decimal import Decimal
from typing import Any

from site_builder.markup import Html
from site_builder.pages.tables import Line, lines, unfold
from site_builder.text import UNIT_SPACE, as_printed, counted, in_unit, kilograms, number, told


def beside(phase: dict[str, Any], unit: str) -> list[Html]:
    """Return the arithmetic of what stands beside the verdict of a phase, each folded."""
    blocks = []
    if (stated := phase.get("clinical")) and stated.get("limit_kg") is not None:
        blocks.append(unfold(f"What ward {stated['ward']} needs: {stated['answer']}", lines(_clinical(stated, unit))))
    if found := phase.get("minimum_weight"):
        blocks.append(unfold(f"Minimum weight: {kilograms(found['weight_kg'], unit)}", lines(_minimum(found, unit))))
    return blocks


def against_a_need(error_kg: str, printed_kg: str, limit_kg: str, unit: str) -> str:
    """Return how an error and its U compare with a limit that a ward needs: beyond by itself, within with U, or between."""
    error, printed, limit = abs(Decimal(error_kg)), Decimal(printed_kg), Decimal(limit_kg)
    alone, bound = number(in_unit(error, unit)), number(in_unit(limit, unit))
    if error > limit:
        return f"|error| {alone} > {bound}"
    sign = "≤" if error + printed <= limit else ">"
    return f"|error| + U = {alone} + {as_printed(printed_kg, unit)} = {number(in_unit(error + printed, unit))} {sign} {bound}"


def _clinical(stated: dict[str, Any], unit: str) -> list[Line]:
    held = against_a_need(stated["error_kg"], stated["printed_kg"], stated["limit_kg"], unit)
    return [
        ("load", "where an error takes most of the ward's limit", kilograms(stated["load_kg"], unit)),
        ("error", "of that point, above", kilograms(stated["error_kg"], unit, signed=True)),
        ("U", "of that point, above", f"{as_printed(stated['printed_kg'], unit)}{UNIT_SPACE}{unit}"),
        ("limit", stated["source"], f"±{kilograms(stated['limit_kg'], unit)}"),
        ("answer", f"{held}; met with U within, not met without U beyond, else it cannot be said", stated["answer"]),
        ("because", told(stated["words"]), None),
    ]


def _minimum(found: dict[str, Any], unit: str) -> list[Line]:
    weighed = f"{counted(found['weighings'], 'weighing')} of {kilograms(found['load_kg'], unit)}, a single reading"
    rounding = Decimal("0.41") * Decimal(found["d_kg"])
    larger = rounding if found["by_division"] else Decimal(found["s_kg"])
    return [
        ("s", weighed, kilograms(found["s_kg"], unit)),
        ("0.41 d", f"what rounding alone leaves, d = {kilograms(found['d_kg'], unit)}", kilograms(rounding, unit)),
        (
            "minimum weight",
            f"2{UNIT_SPACE}000 × the larger, {number(in_unit(larger, unit))}, rounded up; {found['source']}",
            kilograms(found["weight_kg"], unit),
        ),
    ]
