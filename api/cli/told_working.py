"""How a judgement is told on the terminal: each phase, each test with its steps and the source of its limit."""

from decimal import Decimal
from typing import Any

Answer = dict[str, Any]


def told_working(working: Answer) -> str:
    """Return a judgement in words: each phase, each test, each point that did not pass."""
    unit, lines = _unit(working), []
    for name, said in (("as_found", "as found"), ("as_left", "as left")):
        phase = working.get(name)
        if phase is None:
            continue
        if name == "as_left" and working["as_left_rests_on"].startswith("as found"):
            lines.append(f"{said}: {phase['verdict']}, {working['as_left_rests_on']}")
            continue
        lines.append(f"{said}: {phase['verdict']}. {phase['proven_words']}")
        for test in phase["tests"]:
            lines += _test(test, unit)
        lines += _beside(phase, unit)
        lines += [f"  {_point(point, unit)}" for point in phase["points"] if point["verdict"] != "pass"]
    return "\n".join(lines)


def _unit(working: Answer) -> str:
    """Grams where the display counts in them, else kilograms."""
    shown = [p["indication"].get("unit") for p in (working.get("as_found") or {}).get("points", [])]
    return "g" if "g" in shown else "kg"


def _number(kg: str, unit: str) -> str:
    value = Decimal(kg) * (1000 if unit == "g" else 1)
    return f"{value.normalize():f}"


def _mass(kg: str, unit: str) -> str:
    return f"{_number(kg, unit)} {unit}"


def _test(test: Answer, unit: str) -> list[str]:
    figures = f" {_mass(test['measured'].removesuffix(' kg'), unit)}" if "measured" in test else ""
    limit = f", {_bound(test)} {_mass(test['limit'].removesuffix(' kg'), unit)}" if "limit" in test else ""
    lines = [f"  {test['test']}: {test['verdict']} ({test['words']}{figures}{limit})"]
    lines += [f"    {step}" for step in _steps(test, unit)]
    return lines + ([f"    limit: {test['limit_source']}"] if test.get("limit_source") else [])


def _bound(test: Answer) -> str:
    """How a test's limit bounds what was measured: from above, or from below as the least change that counts."""
    return "at least" if test.get("limit_is") == "at least" else "limit"


def _steps(test: Answer, unit: str) -> list[str]:
    """The numbers that a test was made from: the ranges of its loads, its differences, its changes."""
    steps = [
        f"range at {_mass(load['nominal_kg'], unit)}: {_number(load['largest_kg'], unit)} - "
        f"{_number(load['smallest_kg'], unit)} = {_mass(load['range_kg'], unit)}"
        for load in test.get("loads", ())
    ]
    steps += [
        f"{_number(one['seen_kg'], unit)} shown - {_number(one['added_kg'], unit)} added to {_mass(one['base_kg'], unit)} = "
        f"{_mass(one['error_kg'], unit)}, U {_mass(one['printed_kg'], unit)}"
        + (f", the ward's limit {_mass(one['limit_kg'], unit)}: {one['answer']}" if "limit_kg" in one else "")
        for one in test.get("differences", ())
    ]
    steps += [
        f"minute {change['from_minutes']} to {change['to_minutes']}: {_number(change['after_kg'], unit)} - "
        f"{_number(change['before_kg'], unit)} = {_mass(change['kg'], unit)}, limit {change['counted']} = "
        f"{_mass(change['limit_kg'], unit)}"
        for change in test.get("changes", ())
    ]
    return steps


def _beside(phase: Answer, unit: str) -> list[str]:
    """What stands beside the verdict: the ward's own need, and the minimum weight of a balance."""
    lines = []
    if stated := phase.get("clinical"):
        lines.append(
            f"  what ward {stated['ward']} needs: {stated['answer']} ({stated['words']} Source: {stated['source']})"
        )
    if found := phase.get("minimum_weight"):
        lines.append(f"  minimum weight: {_mass(found['weight_kg'], unit)} ({found['source']})")
    return lines


def _point(point: Answer, unit: str) -> str:
    error = "no error"
    if "error_kg" in point:
        error = f"error {_mass(point['error_kg'], unit)} against {_mass(point['tolerance_kg'], unit)}"
    why = "; ".join(reason["sentence"] for reason in point["reasons"])
    told = f"reading {point['seq']}, {point['test']} of {_mass(point['nominal_kg'], unit)}: {point['verdict']}, {error}"
    return f"{told}{f' ({why})' if why else ''}"
