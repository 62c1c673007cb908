"""A point in the working of a judgement: every number from the reading to its verdict.

What several points share (ranges, loads, tolerances, checks of the weights, budgets, contributions) stands once in a list of
its own and is pointed at by its place in it.
"""

import math
from collections.abc import Callable
from typing import Any

from api.metrology.budget import Budget, Contribution
from api.metrology.change_over import ChangeOver
from api.metrology.decision import DecisionRule, GuardedLimits, limits_of
from api.metrology.judgement import Change, PointJudgement, WeightsCheck
from api.metrology.mass import Mass
from api.metrology.risk import Process
from api.metrology.risk_by_prior import RiskByPrior
from api.metrology.rounding import printed_probability
from api.metrology.scale import Range
from api.metrology.shift import Shift
from api.metrology.tolerance import Tolerance
from api.metrology.weights import ReferenceLoad
from api.records.documents import document_of

# Degrees of freedom that nothing limits (GUM G.4.3): JSON has no number for them.
INFINITE = "infinite"
LIST_OF = {
    "range": "ranges", "load": "loads", "tolerance": "tolerances", "budget": "budgets", "weights_check": "weights_checks",
}  # fmt: skip
SHARED = (*LIST_OF.values(), "contributions")


class Shared:
    """What several points share, each once: lists of documents, and the place of each value in its list."""

    def __init__(self) -> None:
        self.lists: dict[str, list[dict[str, Any]]] = {name: [] for name in SHARED}
        self._places: dict[int, int] = {}
        self._kept: list[object] = []

    def place_of(self, name: str, value: Any, make: Callable[[Any], dict[str, Any]]) -> int:
        """Return the place of a value in its list; the value is kept, so that its identity stays its own."""
        place = self._places.get(id(value))
        if place is None:
            document = make(value)
            place = self._places[id(value)] = len(self.lists[name])
            self._kept.append(value)
            self.lists[name].append(document)
        return place


def degrees_in(of: dict[str, Any]) -> float:
    """Return the degrees of freedom of a point or a contribution as they were stored; the first version left infinite out."""
    degrees = of.get("degrees_of_freedom", INFINITE)
    return math.inf if degrees == INFINITE else float(degrees)


def _contribution(contribution: Contribution) -> dict[str, Any]:
    return {
        "name": contribution.name,
        "standard_uncertainty_kg": contribution.standard_uncertainty,
        "distribution": contribution.distribution,
        "degrees_of_freedom": _degrees(contribution.degrees_of_freedom),
        "source": contribution.source,
        "inputs": {symbol: {"value": f"{value:f}", "unit": unit} for symbol, value, unit in contribution.inputs},
    }


def _degrees(of_freedom: float) -> float | str:
    return INFINITE if math.isinf(of_freedom) else of_freedom


def point_document(point: PointJudgement, rule: DecisionRule, shared: Shared) -> dict[str, Any]:
    """Return a point as it is kept: its reading, its verdict, and every number between them or its place in a list."""
    document = _reading(point) | _held_against(point, shared)
    if point.error_kg is not None and point.budget is not None:
        document["error_kg"] = f"{point.error_kg:f}"
        document["budget"] = shared.place_of("budgets", point.budget, lambda budget: budget_document(budget, shared))
        if point.tolerance is not None and rule.guard_ratio:
            document["limits"] = _limits(limits_of(point.tolerance.kg, point.budget.printed, rule), rule)
    if point.probability is not None:
        document["probability"] = printed_probability(point.probability)
    if point.risk is not None:
        document["risk"] = _risk(point.risk)
    return document


def _risk(risk: RiskByPrior) -> dict[str, Any]:
    return {
        "on": risk.specific.on,
        "specific": printed_probability(risk.specific.probability),
        "consumer": printed_probability(risk.consumer),
        "before": _process(risk.before),
        "after": _process(risk.after),
    }


def _process(process: Process) -> dict[str, float]:
    return {"mean_kg": process.mean, "standard_deviation_kg": process.standard_deviation}


def _reading(point: PointJudgement) -> dict[str, Any]:
    reading = point.reading
    document: dict[str, Any] = {
        "seq": reading.seq,
        "test": reading.test,
        "nominal_kg": f"{point.nominal_kg:f}",
        "indication": document_of(reading.indication),
        "verdict": point.verdict,
    }
    if reading.position is not None:
        document["position"] = reading.position
    if reading.placed is not None:
        document["placed"] = reading.placed
    if reading.tare is not None:
        document["tare"] = document_of(reading.tare)
    if reading.minutes is not None:
        document["minutes"] = reading.minutes
    if point.load is None and reading.pieces:
        document["pieces"] = list(reading.pieces)
    if point.reasons:
        document["reasons"] = [{"code": reason.code, "sentence": reason.sentence} for reason in point.reasons]
    return document


def _held_against(point: PointJudgement, shared: Shared) -> dict[str, Any]:
    document: dict[str, Any] = {}
    if point.change is not None:
        document["change"] = _change(point.change)
    if point.change_over is not None:
        document["change_over"] = _change_over(point.change_over, point.reading.change_over_added)
    if point.zero_shift is not None:
        document["zero_shift"] = shift_document(point.zero_shift)
    if point.in_use is not None:
        document["range"] = shared.place_of("ranges", point.in_use, _range)
    if point.load is not None:
        document["load"] = shared.place_of("loads", point.load, _load)
    if point.tolerance is not None:
        document["tolerance"] = shared.place_of("tolerances", point.tolerance, _tolerance)
    if point.weights_check is not None:
        document["weights_check"] = shared.place_of("weights_checks", point.weights_check, _weights_check)
    return document


def _change(change: Change) -> dict[str, Any]:
    numbers = {
        "before": document_of(change.before) if change.before else None,
        "added": document_of(change.added) if change.added else None,
        "most_added_kg": f"{change.most_added_kg:f}",
        "seen_kg": None if change.seen_kg is None else f"{change.seen_kg:f}",
        "required_kg": f"{change.required_kg:f}",
        "source": change.source,
    }
    return {name: value for name, value in numbers.items() if value is not None}


def _change_over(over: ChangeOver, added: Mass | None) -> dict[str, Any]:
    document = {"added": document_of(added), "point_kg": f"{over.before_rounding:f}", "error_kg": f"{over.error:f}"}
    return document if over.error_at_zero is None else document | {"zero_error_kg": f"{over.error_at_zero:f}"}


def shift_document(shift: Shift) -> dict[str, Any]:
    """Return a change of the indication as it is kept: before, after, the change, and what it may be."""
    limit = shift.limit
    return {
        "before_kg": f"{shift.before_kg:f}", "after_kg": f"{shift.after_kg:f}", "kg": f"{shift.kg:f}",
        "limit_kg": f"{limit.kg:f}", "counted": limit.counted, "source": limit.source,
        "hidden_kg": f"{shift.hidden_kg:f}",
    }  # fmt: skip


def _limits(limits: GuardedLimits, rule: DecisionRule) -> dict[str, str]:
    """Under a guarded rule; without a guard band the tolerance is the only limit, and stands beside it already."""
    told = {"guard_kg": f"{limits.guard:f}", "accepted_kg": f"{limits.accepted:f}"}
    return told | {"rejected_kg": f"{limits.rejected:f}"} if rule.zones == "four" else told


def _range(r: Range) -> dict[str, Any]:
    return {"range": {"unit": r.unit, "max": f"{r.max:f}", "d": f"{r.d:f}", "e": f"{r.e:f}"}}


def _load(load: ReferenceLoad) -> dict[str, Any]:
    document: dict[str, Any] = {
        "reference_kg": f"{load.reference_kg:f}",
        "error_bound_kg": f"{load.error_bound_kg:f}",
        "pieces": list(load.pieces),
    }
    if load.substitutions:
        document |= {"substitutions": load.substitutions, "unbalanced_kg": f"{load.unbalanced_kg:f}"}
    if load.buoyancy_kg:
        document["buoyancy_kg"] = f"{load.buoyancy_kg:f}"
    return document


def _weights_check(check: WeightsCheck) -> dict[str, Any]:
    numbers = {
        "divisor": f"{check.divisor:f}",
        "times_divisor_kg": f"{check.times_divisor_kg:f}",
        "allowed_kg": check.allowed_kg,
        "outcome": check.outcome,
    }
    return {"weights_check": numbers}


def _tolerance(tolerance: Tolerance) -> dict[str, Any]:
    return {
        "tolerance_kg": f"{tolerance.kg:f}",
        "tolerance_counted": tolerance.counted,
        "tolerance_source": tolerance.source,
    }


def budget_document(budget: Budget, shared: Shared) -> dict[str, Any]:
    """Return a budget as it is kept, its contributions by their places in their list."""
    return {
        "u_kg": budget.combined,
        "degrees_of_freedom": _degrees(budget.effective_degrees_of_freedom),
        "k": budget.k,
        "coverage_probability": budget.probability,
        "expanded_kg": budget.expanded,
        "printed_kg": f"{budget.printed:f}",
        "contributions": [shared.place_of("contributions", c, _contribution) for c in budget.contributions],
    }
