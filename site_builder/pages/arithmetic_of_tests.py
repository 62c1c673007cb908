"""How each test of a phase came to its verdict: what was measured of which load, the limit, and where the limit is from."""

from decimal import Decimal
from typing import Any

from site_builder.beam import verdict
from site_builder.markup import Html, join
from site_builder.pages.measurement import limit_of, measured_of
from site_builder.pages.tables import Line, lines, unfold
from site_builder.text import capital, counted, in_unit, kilograms, number


def tests(phase: dict[str, Any], unit: str) -> list[Html]:
    """Return the arithmetic of every test whose limit is told, each folded."""
    return [
        unfold(join(f"{capital(t['test'])}, as a test ", verdict(t["verdict"])), lines(_lines(t, unit)))
        for t in phase["tests"]
        if t.get("limit_source")
    ]


def _lines(test: dict[str, Any], unit: str) -> list[Line]:
    told: list[Line] = [_load(load, unit) for load in test.get("loads", [])]
    told.append(("measured", test["words"], measured_of(test, unit)))
    told.append(("limit", test["limit_source"], limit_of(test, unit)))
    return told + [("because", capital(reason["sentence"]), None) for reason in test["reasons"]]


def _load(load: dict[str, Any], unit: str) -> Line:
    """The range of the results of one load, and its limit where there is one."""
    largest, smallest, spread = (number(in_unit(load[f"{n}_kg"], unit)) for n in ("largest", "smallest", "range"))
    how = f"{counted(load['results'], 'result')}, largest − smallest = {largest} − {smallest}"
    if load.get("limit_kg") is not None:
        sign = "≤" if Decimal(load["range_kg"]) <= Decimal(load["limit_kg"]) else ">"
        how += f"; {spread} {sign} limit {number(in_unit(load['limit_kg'], unit))}, {load['limit_counted']}"
    return f"range at {kilograms(load['nominal_kg'], unit)}", how, kilograms(load["range_kg"], unit)
