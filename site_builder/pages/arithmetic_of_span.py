"""How the load of a span adjustment was held against the capacity: its share, and what the policy asks for and advises."""

from decimal import Decimal
from typing import Any

from site_builder.markup import Html
from site_builder.pages.tables import Line, lines, unfold
from site_builder.text import UNIT_SPACE, capital, in_unit, kilograms, number

Span = dict[str, Any]


def span(adjusted: Span, unit: str) -> Html:
    """Return the span load against the capacity of the unit it was adjusted in, folded."""
    return unfold(f"Span adjusted at {kilograms(adjusted['load_kg'], unit)}", lines(_lines(adjusted, unit)))


def _lines(adjusted: Span, unit: str) -> list[Line]:
    load, capacity = adjusted["load_kg"], adjusted["capacity_kg"]
    told: list[Line] = [
        ("span load", "sum of the marked values of the pieces, or the load as it was named", kilograms(load, unit)),
        ("capacity", "of the unit it was adjusted in", kilograms(capacity, unit)),
    ]
    if adjusted.get("share") is not None:
        share = f"span load / capacity = {number(in_unit(load, unit))} / {number(in_unit(capacity, unit))}"
        told.append(("share", share, _percent(Decimal(f"{adjusted['share'] * 100:.1f}"))))
    told += [
        (f"{name} load", _asked(adjusted[name], load, capacity, unit), kilograms(adjusted[name]["load_kg"], unit))
        for name in ("least", "advised")
        if adjusted.get(name)
    ]
    return [*told, ("because", capital(adjusted["sentence"]), None)]


def _asked(bound: dict[str, str], load: str, capacity: str, unit: str) -> str:
    """A policy's share of the capacity, its source, and on which side of it the load lies."""
    sign = "<" if Decimal(load) < Decimal(bound["load_kg"]) else "≥"
    share = f"{_percent(Decimal(bound['share']) * 100)} of {number(in_unit(capacity, unit))}"
    return f"{share}: {bound['source']}; {number(in_unit(load, unit))} {sign} {number(in_unit(bound['load_kg'], unit))}"


def _percent(value: Decimal) -> str:
    return f"{number(f'{value.normalize():f}')}{UNIT_SPACE}%"
