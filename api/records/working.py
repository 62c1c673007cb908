"""The working of a judgement: one JSON document with every number on the way, compact enough to keep for ever.

What several points share stands once and is pointed at by its place in a list (`working_of_points`); `read_working` puts it
back. A phase as left stands only where it has readings of its own.

`judgement/2` writes every number on the way to a verdict. `judgement/1` did not: it left out infinite degrees of freedom,
what the span load was held against, and much that is named below. A kept working is never rewritten, so both are read.
"""

from decimal import Decimal
from typing import Any

from api.metrology.clinical_need import ClinicalStatement
from api.metrology.difference import Difference
from api.metrology.judgement import (
    Flag,
    JudgedTest,
    Judgement,
    MinimumWeightFound,
    OneLoad,
    PhaseJudgement,
    TimedChange,
)
from api.metrology.measured_air import MeasuredAir
from api.metrology.policy import Policy
from api.metrology.weights import Piece, PieceShare
from api.records.documents import document_of
from api.records.working_of_points import LIST_OF, SHARED, Shared, budget_document, point_document, shift_document

VERSION = "judgement/2"
# The numbers of the policy that a verdict may hang on; those of the span stand with the span.
_POLICY_NUMBERS = ("weights_divisor", "drift_factor", "least_eccentric_share", "least_loads")


def working_of(judgement: Judgement, judged_with: dict[str, Any]) -> dict[str, Any]:
    """Return the working of a judgement; `judged_with` names program, device, policy and their revisions."""
    shared = Shared()
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
        "weights": [_piece(piece, judgement.shares.get(piece.code)) for piece in judgement.pieces],
        "air": _air(judgement.air) if judgement.air else None,
        "policy_numbers": _policy_numbers(judgement.policy) if judgement.policy else None,
        **shared.lists,
    }
    return {name: value for name, value in working.items() if value is not None}


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
        "share": span.share,
        "least": _share(span.least_share, span.least_kg, span.least_source),
        "advised": _share(span.advised_share, span.advised_kg, span.advised_source),
    }


def _policy_numbers(policy: Policy) -> dict[str, dict[str, str]]:
    told = {name: {"value": str(getattr(policy, name)), "source": policy.source_of(name)} for name in _POLICY_NUMBERS}
    if (prior := policy.prior) is not None:
        source = policy.source_of("prior")
        for name, value in (("prior_mean", prior.mean), ("prior_standard_deviation", prior.standard_deviation)):
            told[name] = {"value": f"{value:f}", "counted_in": prior.counted_in, "source": source}
    return told


def _air(air: MeasuredAir) -> dict[str, Any]:
    climate = {"temperature_c": air.temperature_c, "pressure_hpa": air.pressure_hpa, "humidity_pct": air.humidity_pct}
    return {
        "density_kg_m3": f"{air.density:f}",
        "standard_uncertainty_kg_m3": f"{air.u:f}",
        "source": air.source,
        **{name: {"value": c.value, "half_width": c.half_width, "source": c.source} for name, c in climate.items()},
    }


def _share(share: Decimal, load_kg: Decimal, source: str) -> dict[str, str]:
    return {"share": f"{share:f}", "load_kg": f"{load_kg:f}", "source": source}


def _piece(piece: Piece, share: PieceShare | None) -> dict[str, Any]:
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
    if piece.density is not None:
        document["density"] = {
            "kg_m3": f"{piece.density.kg_m3:f}",
            "expanded_kg_m3": f"{piece.density.expanded_kg_m3:f}",
            "source": piece.density.source,
        }
    if share is not None:
        document |= {
            "standard_uncertainty_kg": share.u,
            "limit_kg": f"{share.limit_kg:f}",
            "limit_source": share.limit_source,
        }
    return document


def _phase(phase: PhaseJudgement, shared: Shared) -> dict[str, Any]:
    scheme, rule = phase.scheme, phase.rule
    document: dict[str, Any] = {
        "scheme": {"name": scheme.name, "edition": scheme.edition, "stage": scheme.stage},
        "rule": {
            "name": rule.name, "guard_ratio": f"{rule.guard_ratio:f}", "zones": rule.zones, "source": rule.source,
        },
        "verdict": phase.verdict,
        "reasons": list(phase.reasons),
        "proven_words": phase.proven_words,
        "points": [point_document(point, rule, shared) for point in phase.points],
        "tests": [_test(test, shared) for test in phase.tests],
    }  # fmt: skip
    if scheme.house is not None:
        document["scheme"]["house_rule"] = scheme.house.code
    if phase.proven is not None:
        document["proven"] = {"from_kg": f"{phase.proven.from_kg:f}", "to_kg": f"{phase.proven.to_kg:f}"}
        if phase.proven.directly_to_kg is not None:
            document["proven"]["directly_to_kg"] = f"{phase.proven.directly_to_kg:f}"
    if phase.clinical is not None:
        document["clinical"] = _clinical(phase.clinical)
    if phase.minimum_weight is not None:
        document["minimum_weight"] = _minimum_weight(phase.minimum_weight)
    return document


def _minimum_weight(found: MinimumWeightFound) -> dict[str, Any]:
    return {
        "weight_kg": f"{found.weight_kg:f}",
        "s_kg": f"{found.s_kg:f}",
        "d_kg": f"{found.d_kg:f}",
        "load_kg": f"{found.load_kg:f}",
        "weighings": found.weighings,
        "by_division": found.by_division,
        "enough": found.enough,
        "source": found.source,
    }


def _clinical(stated: ClinicalStatement) -> dict[str, Any]:
    document = {"ward": stated.ward, "answer": stated.answer, "words": stated.words, "source": stated.source}
    numbers = {"load_kg": stated.load_kg, "error_kg": stated.error_kg, "printed_kg": stated.printed_kg,
               "limit_kg": stated.limit_kg}  # fmt: skip
    return document | {name: f"{value:f}" for name, value in numbers.items() if value is not None}


def _test(test: JudgedTest, shared: Shared) -> dict[str, Any]:
    document: dict[str, Any] = {
        "test": test.test,
        "required": test.required,
        "verdict": test.verdict,
        "words": test.words,
        "reasons": [{"code": reason.code, "sentence": reason.sentence} for reason in test.reasons],
    }
    if test.measured_kg is not None:
        document["measured"] = f"{test.measured_kg.normalize():f} kg"
    if test.limit_kg is not None:
        document["limit"] = f"{test.limit_kg.normalize():f} kg"
        document["limit_is"] = test.limit_is
    if test.limit_source:
        document["limit_source"] = test.limit_source
    if test.loads:
        document["loads"] = [_one_load(load) for load in test.loads]
    if test.differences:
        document["differences"] = [_difference(one, shared) for one in test.differences]
    if test.changes:
        document["changes"] = [_timed_change(change) for change in test.changes]
    return document


def _timed_change(change: TimedChange) -> dict[str, Any]:
    minutes = {"from_minutes": change.from_minutes, "to_minutes": change.to_minutes}
    return {"load_kg": f"{change.load_kg:f}", **minutes, **shift_document(change.shift)}


def _difference(one: Difference, shared: Shared) -> dict[str, Any]:
    document: dict[str, Any] = {
        "seq": one.seq,
        "base_seq": one.base_seq,
        "base_kg": f"{one.base_kg:f}",
        "added_kg": f"{one.added_kg:f}",
        "seen_kg": f"{one.seen_kg:f}",
        "error_kg": f"{one.error_kg:f}",
        **budget_document(one.budget, shared),
    }
    if one.limit_kg is not None:
        document |= {"limit_kg": f"{one.limit_kg:f}", "answer": one.answer}
    return document


def _one_load(load: OneLoad) -> dict[str, Any]:
    document: dict[str, Any] = {
        "nominal_kg": f"{load.nominal_kg:f}",
        "results": load.results,
        "smallest_kg": f"{load.smallest_kg:f}",
        "largest_kg": f"{load.largest_kg:f}",
        "range_kg": f"{load.largest_kg - load.smallest_kg:f}",
        "verdict": load.verdict,
    }
    if load.limit_kg is not None:
        document |= {"limit_kg": f"{load.limit_kg:f}", "limit_counted": load.limit_counted}
    return document


def read_working(stored: dict[str, Any]) -> dict[str, Any]:
    """Return a stored working as it is read: every point with its own range, load, tolerance and budget in full.

    Left unadjusted, the phase as left is the phase as found.
    """
    shared = {name: stored.get(name, []) for name in SHARED}
    working = {name: value for name, value in stored.items() if name not in SHARED or name == "contributions"}
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
        if name in LIST_OF:
            read |= shared[LIST_OF[name]][value]
        else:
            read[name] = value
    return read
