"""The tolerance over all loads as a chart shows it: the real steps of the published table, from the rule itself.

A house rule is drawn through the tolerances of the points that were judged, since only these are in the judgement.
"""

from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from api.metrology.refusals import Refusal
from api.metrology.scale import Range
from api.metrology.terms import AccuracyClass
from api.metrology.tolerance import Scheme, loads_of_change, tolerance_at


@dataclass(frozen=True, slots=True)
class Step:
    """A stretch of loads with the tolerance at its beginning and at its end, in kilograms; equal for a published table."""

    from_kg: Decimal
    to_kg: Decimal
    at_from: Decimal
    at_to: Decimal


def tolerance_steps(phase: dict[str, Any], accuracy_class: AccuracyClass) -> tuple[Step, ...]:
    """Return the tolerance of a judged phase from no load to the capacity, as it steps; empty where there is none."""
    if phase["scheme"]["name"] == "house":
        return _through_points(phase)
    ranges = _ranges_of(phase)
    bounds = (Decimal(0), *loads_of_change(phase["scheme"]["name"], accuracy_class, ranges))
    steps: list[Step] = []
    for low, high in zip(bounds, bounds[1:], strict=False):
        kg = _tolerance_between(phase, accuracy_class, ranges, (low + high) / 2)
        if kg is None:
            continue
        if steps and steps[-1].at_to == kg and steps[-1].to_kg == low:
            steps[-1] = Step(steps[-1].from_kg, high, kg, kg)
        else:
            steps.append(Step(low, high, kg, kg))
    return tuple(steps)


def _ranges_of(phase: dict[str, Any]) -> list[Range]:
    """The ranges that the points of a phase were judged in, finest first."""
    found = {
        Range(r["unit"], Decimal(r["max"]), Decimal(r["d"]), Decimal(r["e"]))
        for point in phase["points"]
        if (r := point.get("range"))
    }
    return sorted(found, key=lambda r: r.max_kg)


def _tolerance_between(
    phase: dict[str, Any], accuracy_class: AccuracyClass, ranges: list[Range], load_kg: Decimal
) -> Decimal | None:
    scheme = Scheme(phase["scheme"]["name"], phase["scheme"]["edition"], phase["scheme"]["stage"])
    in_use = next((r for r in ranges if load_kg <= r.max_kg), None)
    if in_use is None:
        return None
    try:
        return tolerance_at(scheme, accuracy_class, in_use, load_kg).kg
    except Refusal:
        return None


def _through_points(phase: dict[str, Any]) -> tuple[Step, ...]:
    known = sorted(
        {(Decimal(p["nominal_kg"]), Decimal(p["tolerance_kg"])) for p in phase["points"] if "tolerance_kg" in p}
    )
    return tuple(Step(a[0], b[0], a[1], b[1]) for a, b in zip(known, known[1:], strict=False) if a[0] < b[0])
