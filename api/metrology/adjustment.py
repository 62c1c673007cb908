"""The span adjustment against the policy: how heavy the load was, in the unit it was adjusted in; what it limits."""

from collections.abc import Mapping, Sequence
from decimal import Decimal

from api.metrology.judgement import Flag, SpanLoad
from api.metrology.mass import EXACT, Mass, label_of
from api.metrology.policy import Policy
from api.metrology.refusals import Refusal
from api.metrology.scale import Scale, capacity_in
from api.metrology.submission import Adjustment
from api.metrology.weights import Piece, nominal_sum

SPAN_LIKE = ("span", "linearity")


def least_span_load(scale: Scale, unit: str, policy: Policy) -> Mass:
    """Return the least load for a span adjustment in a displayed unit: the policy's share of that unit's capacity.

    600 lb and 300 kg are two capacities: the answer belongs to the unit asked for and is never converted.
    """
    return Mass(EXACT.multiply(capacity_in(scale, unit).max, policy.least_span_share), unit)


def span_load(adjustment: Adjustment, scale: Scale, pieces: Mapping[str, Piece], policy: Policy) -> SpanLoad:
    """Return the span load against the capacity in its own unit; refuses unknown pieces and units not shown."""
    unit = adjustment.at_load.unit if adjustment.at_load else _largest_unit(scale)
    if adjustment.pieces:
        load = nominal_sum(adjustment.pieces, pieces)
    else:
        load = adjustment.at_load.kg if adjustment.at_load else Decimal(0)
    top = capacity_in(scale, unit)
    least, advised = least_span_load(scale, unit, policy).kg, EXACT.multiply(top.max_kg, policy.advised_span_share)
    heavy = load >= least
    said = _sentence(load, top.max_kg, f"{top.max:f} {label_of(unit)}", heavy, load >= advised, policy)
    return SpanLoad(
        load, top.max_kg, said, heavy, float(load) / float(top.max_kg),
        policy.least_span_share, least, policy.source_of("least_span_share"),
        policy.advised_span_share, advised, policy.source_of("advised_span_share"),
    )  # fmt: skip


def _largest_unit(scale: Scale) -> str:
    """Where the unit was not told, the one with the largest capacity: it asks for the heaviest load."""
    return max(scale.by_unit, key=lambda unit: scale.by_unit[unit][-1].max_kg)


def _sentence(load: Decimal, top: Decimal, capacity: str, heavy: bool, advised: bool, policy: Policy) -> str:
    share = f"{float(load) / float(top) * 100:.0f} %"
    said = f"Span adjusted at {load.normalize():f} kg, {share} of {capacity}"
    if advised:
        return f"{said}: as advised."
    if heavy:
        return f"{said}: enough, but {_percent(policy.advised_span_share)} or more is advised (common practice, no source)."
    return (
        f"{said}: below the {_percent(policy.least_span_share)} that the policy asks for (common practice, no source). An "
        "error of the load grows with the ratio of capacity to it; the as-left result is proven only up to this load."
    )


def _percent(share: Decimal) -> str:
    return f"{(share * 100).normalize():f} %"


def judge_span(
    adjustments: Sequence[Adjustment], scale: Scale, pieces: Mapping[str, Piece], policy: Policy
) -> tuple[SpanLoad | None, tuple[Flag, ...]]:
    """Return the span load that a visit leaves, and the flags it raises.

    A span adjustment replaces what was set before it; of the loads of a linearity adjustment the heaviest counts.
    """
    spans: list[SpanLoad] = []
    flags: list[Flag] = []
    for number, adjustment in enumerate(adjustments):
        if adjustment.type not in SPAN_LIKE:
            continue
        if adjustment.type == "span":
            spans.clear()
        try:
            spans.append(span_load(adjustment, scale, pieces, policy))
        except Refusal as refusal:
            flags.append(Flag(refusal.code, refusal.sentence, refusal.facts, f"#/adjustments/{number}"))
        else:
            flags += _differs(adjustment, spans[-1], f"#/adjustments/{number}")
    heaviest = max(spans, key=lambda s: s.load_kg, default=None)
    if heaviest is not None and not heaviest.heavy_enough:
        facts = {"load": f"{heaviest.load_kg:f} kg", "capacity": f"{heaviest.capacity_kg:f} kg"}
        flags.append(Flag("span-load-too-light", heaviest.sentence, facts, "#/adjustments"))
    return heaviest, tuple(flags)


def _differs(adjustment: Adjustment, span: SpanLoad, pointer: str) -> list[Flag]:
    stated = adjustment.at_load
    if stated is None or stated.kg == span.load_kg:
        return []
    said = f"The span load is given as {stated.shown}, but the pieces named add up to {span.load_kg:f} kg."
    facts = {"load": stated.shown, "pieces": f"{span.load_kg:f} kg"}
    return [Flag("load-differs-from-pieces", said, facts, pointer)]
