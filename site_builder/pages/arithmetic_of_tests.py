"""How each test of a phase came to its verdict: what was measured of which load, the limit, and where the limit is from."""

from decimal import Decimal
from typing import Any

from site_builder import text
from site_builder.beam import verdict
from site_builder.markup import Html, join
from site_builder.pages.arithmetic_beside import against_a_need
from site_builder.pages.arithmetic_of_change import timed_changes
from site_builder.pages.measurement import limit_of, measured_of
from site_builder.pages.tables import Line, lines, unfold
from site_builder.text import UNIT_SPACE, as_printed, capital, counted, in_unit, kilograms, listed, number, three_digits


def tests(phase: dict[str, Any], judged: dict[str, Any], unit: str) -> list[Html]:
    """Return the arithmetic of every test whose limit is told, each folded."""
    return [
        unfold(join(f"{capital(t['test'])}, as a test ", verdict(t["verdict"])), lines(_lines(t, judged, unit)))
        for t in phase["tests"]
        if t.get("limit_source") or t.get("differences") or t.get("changes")
    ]


def _lines(test: dict[str, Any], judged: dict[str, Any], unit: str) -> list[Line]:
    told: list[Line] = [_load(load, unit) for load in test.get("loads", [])]
    told += [line for one in test.get("differences", []) for line in _difference(one, judged, unit)]
    told += timed_changes(test.get("changes", []), unit)
    told.append(("measured", text.told(test["words"]), measured_of(test, unit)))
    if test.get("limit_source"):
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


def _difference(one: dict[str, Any], judged: dict[str, Any], unit: str) -> list[Line]:
    """What was added to a base load against what was shown of it, its U, and the ward's own limit where it has one."""
    seen, added = (kilograms(one[name], unit) for name in ("seen_kg", "added_kg"))
    how = (
        f"{seen} shown − {added} added to {kilograms(one['base_kg'], unit)}; reading {one['seq']} − reading "
        f"{one['base_seq']}, so zero and the base load cancel"
    )
    told: list[Line] = [
        (f"difference of {added}", how, kilograms(one["error_kg"], unit, signed=True)),
        ("U of it", _expanded(one, judged, unit), f"{as_printed(one['printed_kg'], unit)}{UNIT_SPACE}{unit}"),
    ]
    if one.get("limit_kg") is not None:
        held = against_a_need(one["error_kg"], one["printed_kg"], one["limit_kg"], unit)
        limit = f"±{kilograms(one['limit_kg'], unit)}"
        told.append(("the ward's limit", f"beside the tolerance; {held}: {one['answer']}", limit))
    return told


def _expanded(one: dict[str, Any], judged: dict[str, Any], unit: str) -> str:
    parts = [judged["contributions"][place] for place in one["contributions"]]
    made_of = listed(f"{p['name']} {three_digits(p['standard_uncertainty_kg'], unit)}" for p in parts)
    k = number("{:.2f}".format(one["k"]))
    return f"k × u = {k} × {three_digits(one['u_kg'], unit)}; u is the root of the sum of the squares of {made_of}"
