"""The working of a judgement: one JSON document with every number on the way, compact enough to keep for ever.

What several points share (ranges, loads, tolerances, budgets, contributions) stands once and is pointed at by its place in
the list; `read_working` puts it back. A phase as left stands only where it has readings of its own.
"""

import math
from collections.abc import Callable
from typing import Any

from api.metrology.budget import Budget, Contribution
from api.metrology.judgement import Flag, JudgedTest, Judgement, PhaseJudgement, PointJudgement
from api.metrology.rounding import printed_probability
from api.metrology.scale import Range
from api.metrology.tolerance import Tolerance
from api.metrology.weights import Piece, ReferenceLoad
from api.records.documents import document_of

VERSION = "judgement/1"
_LIST_OF = {"range": "ranges", "load": "loads", "tolerance": "tolerances", "budget": "budgets"}
_SHARED = (*_LIST_OF.values(), "contributions")


def working_of(judgement: Judgement, judged_with: dict[str, Any]) -> dict[str, Any]:
    """Return the working of a judgement; `judged_with` names program, device, policy and their revisions."""
    shared = _Shared()
    found = _phase(judgement.as_found, shared) if judgement.as_found else None
    own = judgement.as_left is not None and judgement.as_left is not judgement.as_found
    left = _phase(judgement.as_left, shared) if own and judgement.as_left else None
    working = {
        "version": VERSION,
        **judged_with,
        "as_found": found,
        "as_left": left,
        "as_left_rests_on": judgement.as_left_rests_on,
        "adjusted": judgement.adjusted,
        "span": _span(judgement),
        "flags": [flag_document(flag) for flag in judgement.flags],
        "notes": [flag_document(note) for note in judgement.notes],
        "weights": [_piece(piece) for piece in judgement.pieces],
        **shared.lists,
    }
    return {name: value for name, value in working.items() if value is not None}


class _Shared:
    """What several points share, each once: lists of documents, and the place of each value in its list."""

    def __init__(self) -> None:
        self.lists: dict[str, list[dict[str, Any]]] = {name: [] for name in _SHARED}
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


def _contribution(contribution: Contribution) -> dict[str, Any]:
    document = {
        "name": contribution.name,
        "standard_uncertainty_kg": contribution.standard_uncertainty,
        "distribution": contribution.distribution,
        "source": contribution.source,
    }
    if not math.isinf(contribution.degrees_of_freedom):
        document["degrees_of_freedom"] = contribution.degrees_of_freedom
    return document


def flag_document(flag: Flag) -> dict[str, Any]:
    """Return a flag as it is stored and sent."""
    document: dict[str, Any] = {"code": flag.code, "sentence": flag.sentence, "facts": flag.facts}
    return document if flag.pointer is None else document | {"pointer": flag.pointer}


def _span(judgement: Judgement) -> dict[str, Any] | None:
    span = judgement.span
    if span is None:
        return None
    return {
        "load_kg": f"{span.load_kg:f}",
        "capacity_kg": f"{span.capacity_kg:f}",
        "heavy_enough": span.heavy_enough,
        "sentence": span.sentence,
    }


def _piece(piece: Piece) -> dict[str, Any]:
    document: dict[str, Any] = {
        "piece": piece.code, "nominal": document_of(piece.nominal), "weight_class": piece.weight_class,
    }  # fmt: skip
    if piece.certificate is not None:
        certificate = piece.certificate
        document |= {
            "certificate": certificate.number,
            "conventional_kg": f"{certificate.conventional_kg:f}",
            "expanded_kg": f"{certificate.expanded_kg:f}",
            "k": f"{certificate.k:f}",
            "valid_from": certificate.valid_from.isoformat(),
            "valid_to": certificate.valid_to.isoformat(),
        }
    return document


def _phase(phase: PhaseJudgement, shared: _Shared) -> dict[str, Any]:
    scheme, rule = phase.scheme, phase.rule
    document: dict[str, Any] = {
        "scheme": {"name": scheme.name, "edition": scheme.edition, "stage": scheme.stage},
        "rule": {
            "name": rule.name, "guard_ratio": f"{rule.guard_ratio:f}", "zones": rule.zones, "source": rule.source,
        },
        "verdict": phase.verdict,
        "reasons": list(phase.reasons),
        "proven_words": phase.proven_words,
        "points": [_point(point, shared) for point in phase.points],
        "tests": [_test(test) for test in phase.tests],
    }  # fmt: skip
    if scheme.house is not None:
        document["scheme"]["house_rule"] = scheme.house.code
    if phase.proven is not None:
        document["proven"] = {"from_kg": f"{phase.proven.from_kg:f}", "to_kg": f"{phase.proven.to_kg:f}"}
    return document


def _point(point: PointJudgement, shared: _Shared) -> dict[str, Any]:
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
    if point.change_over is not None:
        document["change_over"] = _change_over(point)
    if reading.minutes is not None:
        document["minutes"] = reading.minutes
    if point.zero_shift is not None:
        limit = point.zero_shift.limit
        document["zero_shift"] = {
            "kg": f"{point.zero_shift.kg:f}", "limit_kg": f"{limit.kg:f}", "counted": limit.counted, "source": limit.source,
        }  # fmt: skip
    if point.reasons:
        document["reasons"] = [{"code": reason.code, "sentence": reason.sentence} for reason in point.reasons]
    if point.in_use is not None:
        document["range"] = shared.place_of("ranges", point.in_use, _range)
    if point.load is not None:
        document["load"] = shared.place_of("loads", point.load, _load)
    elif reading.pieces:
        document["pieces"] = list(reading.pieces)
    if point.tolerance is not None:
        document["tolerance"] = shared.place_of("tolerances", point.tolerance, _tolerance)
    if point.error_kg is not None and point.budget is not None:
        document["error_kg"] = f"{point.error_kg:f}"
        document["budget"] = shared.place_of("budgets", point.budget, lambda budget: _budget(budget, shared))
    if point.probability is not None:
        document["probability"] = printed_probability(point.probability)
    return document


def _change_over(point: PointJudgement) -> dict[str, Any]:
    over, added = point.change_over, point.reading.change_over_added
    assert over is not None
    document = {"added": document_of(added), "point_kg": f"{over.point_kg:f}", "error_kg": f"{over.error_kg:f}"}
    return document if over.zero_error_kg is None else document | {"zero_error_kg": f"{over.zero_error_kg:f}"}


def _range(r: Range) -> dict[str, Any]:
    return {"range": {"unit": r.unit, "max": f"{r.max:f}", "d": f"{r.d:f}", "e": f"{r.e:f}"}}


def _load(load: ReferenceLoad) -> dict[str, Any]:
    return {
        "reference_kg": f"{load.reference_kg:f}",
        "error_bound_kg": f"{load.error_bound_kg:f}",
        "pieces": list(load.pieces),
    }


def _tolerance(tolerance: Tolerance) -> dict[str, Any]:
    return {
        "tolerance_kg": f"{tolerance.kg:f}",
        "tolerance_counted": tolerance.counted,
        "tolerance_source": tolerance.source,
    }


def _budget(budget: Budget, shared: _Shared) -> dict[str, Any]:
    document: dict[str, Any] = {
        "u_kg": budget.combined,
        "k": budget.k,
        "coverage_probability": budget.probability,
        "expanded_kg": budget.expanded,
        "printed_kg": f"{budget.printed:f}",
        "contributions": [shared.place_of("contributions", c, _contribution) for c in budget.contributions],
    }
    if not math.isinf(budget.effective_degrees_of_freedom):
        document["degrees_of_freedom"] = budget.effective_degrees_of_freedom
    return document


def _test(test: JudgedTest) -> dict[str, Any]:
    document: dict[str, Any] = {
        "test": test.test,
        "required": test.required,
        "verdict": test.verdict,
        "words": test.words,
        "reasons": [{"code": reason.code, "sentence": reason.sentence} for reason in test.reasons],
    }
    if test.limit_source:
        document["limit_source"] = test.limit_source
    if test.measured_kg is not None:
        document["measured"] = f"{test.measured_kg.normalize():f} kg"
    if test.limit_kg is not None:
        document["limit"] = f"{test.limit_kg.normalize():f} kg"
    return document


def read_working(stored: dict[str, Any]) -> dict[str, Any]:
    """Return a stored working as it is read: every point with its own range, load, tolerance and budget in full.

    Left unadjusted, the phase as left is the phase as found.
    """
    shared = {name: stored.get(name, []) for name in _SHARED}
    working = {name: value for name, value in stored.items() if name not in _SHARED or name == "contributions"}
    for name in ("as_found", "as_left"):
        if name in working:
            points = [_read_point(point, shared) for point in working[name]["points"]]
            working[name] = {**working[name], "points": points}
    if "as_left" not in working and working["as_left_rests_on"].startswith("as found"):
        working["as_left"] = working["as_found"]
    return working


def _read_point(point: dict[str, Any], shared: dict[str, list[dict[str, Any]]]) -> dict[str, Any]:
    read: dict[str, Any] = {"pieces": [], "reasons": [], "contributions": []}
    for name, value in point.items():
        if name in _LIST_OF:
            read |= shared[_LIST_OF[name]][value]
        else:
            read[name] = value
    return read
