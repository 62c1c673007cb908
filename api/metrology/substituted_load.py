"""A load of pieces on top of a substitute load: what is known of it, and how often that may be done.

A substitute load was put in place of an earlier, known load until the display showed the same: it weighs what that load
weighed, whatever the scale's error there, but for the rounding and the repeatability of the two readings.
"""

from decimal import Decimal
from typing import Final

from api.metrology.judgement import Flag, flag_of
from api.metrology.mass import label_of
from api.metrology.phase_context import NO_LOAD, PhaseContext
from api.metrology.readings import Reading
from api.metrology.refusals import NoReferenceValue, Refusal
from api.metrology.repeatability import LEAST_READINGS
from api.metrology.scale import Range
from api.metrology.substitution import MOST_SUBSTITUTIONS, r76_share
from api.metrology.weights import ReferenceLoad, Volume

# The steps of r76_share, OIML R 76-1:2006 3.7.3, from memory (medium confidence), in e.
_SHARE_STEPS: Final = (Decimal("0.2"), Decimal("0.3"))


def substituted_load(reading: Reading, context: PhaseContext) -> ReferenceLoad | Flag:
    """Return the known load of a reading on a substitute load: the load it was balanced against, and the pieces on it.

    `before` is what the display showed with the substitute load alone; where it differs from the reading it was balanced
    against, the difference is part of the load. Pieces that stood in several steps count as often: their errors add.
    """
    earlier = _balanced_against(reading, context)
    if isinstance(earlier, Flag):
        return earlier
    under = _load_under(earlier, context)
    own: ReferenceLoad | Refusal = context.worked.load(reading.pieces) if reading.pieces else NO_LOAD
    if isinstance(own, Refusal):
        return flag_of(own)
    if isinstance(under, Flag):
        return under
    beside = reading.before.kg - earlier.indication.kg if reading.before is not None else Decimal(0)
    return _sum(under, own, beside)


def _balanced_against(reading: Reading, context: PhaseContext) -> Reading | Flag:
    earlier = context.by_seq.get(reading.substitution or 0)
    if earlier is None or earlier.seq >= reading.seq:
        said = f"The substitute load was balanced against reading {reading.substitution}, which is not an earlier one here."
        return Flag("substitution-unknown", said)
    units = {r.unit for r in (reading.indication, earlier.indication, reading.before) if r is not None}
    if len(units) > 1:
        shown = " and ".join(sorted(label_of(unit) for unit in units))
        return Flag("substitution-unknown", f"The substitute load was balanced in {shown}: one unit has to show both.")
    return earlier


def _load_under(earlier: Reading, context: PhaseContext) -> ReferenceLoad | Flag:
    if earlier.substitution is not None:
        return substituted_load(earlier, context)
    known = context.worked.load(earlier.pieces) if earlier.pieces else None
    if known is None:
        return Flag(
            NoReferenceValue.code, f"Reading {earlier.seq} names no pieces to balance a substitute load against."
        )
    return flag_of(known) if isinstance(known, Refusal) else known


def _sum(under: ReferenceLoad, own: ReferenceLoad, beside_kg: Decimal) -> ReferenceLoad:
    steps = under.substitutions + 1
    return under._replace(
        pieces=own.pieces, nominal_kg=under.nominal_kg + own.nominal_kg,
        reference_kg=under.reference_kg + own.reference_kg + beside_kg, u_weights=under.u_weights + own.u_weights,
        u_drift=under.u_drift + own.u_drift, u_buoyancy=under.u_buoyancy + own.u_buoyancy,
        u_buoyancy_adjusted=under.u_buoyancy_adjusted + own.u_buoyancy_adjusted,
        error_bound_kg=under.error_bound_kg + own.error_bound_kg, limit_kg=under.limit_kg + own.limit_kg,
        substitutions=steps, unbalanced_kg=under.unbalanced_kg + beside_kg, volume=_volume(under, own),
        buoyancy_kg=under.buoyancy_kg + own.buoyancy_kg, convection_kg=under.convection_kg + own.convection_kg,
    )  # fmt: skip


def _volume(under: ReferenceLoad, own: ReferenceLoad) -> Volume | None:
    if under.volume is None or own.volume is None:
        return None
    return Volume(under.volume.beyond_m3 + own.volume.beyond_m3, under.volume.u_m3 + own.volume.u_m3)


def substitution_reasons(reading: Reading, load: ReferenceLoad, in_use: Range, context: PhaseContext) -> list[Flag]:
    """Return why a load by substitution decides nothing: too many steps, or too little certified mass.

    HB 44 2.20 N.3, from memory: three substitutions at most; a house rule is held to the same. R 76-1:2006 3.7.3, from
    memory: the pieces make half of Max, or less where the scale repeats well; their share limits the steps.
    """
    if context.scheme.name == "r76":
        return _too_little_certified(reading, in_use, context)
    if load.substitutions <= MOST_SUBSTITUTIONS:
        return []
    said = (
        f"The load was built by {load.substitutions} substitutions; after {MOST_SUBSTITUTIONS} its value is no longer good "
        "enough (NIST HB 44 section 2.20 N.3)."
    )
    return [Flag("too-many-substitutions", said, {"found": str(load.substitutions), "most": str(MOST_SUBSTITUTIONS)})]


def _too_little_certified(reading: Reading, in_use: Range, context: PhaseContext) -> list[Flag]:
    top = context.scale.ranges_in(in_use.unit)[-1].max_kg
    share, placed = r76_share(_repeatability_in_e(in_use, context)), _most_pieces(reading, context)
    if placed >= share * top:
        return []
    said = (
        f"The pieces make {placed.normalize():f} kg; as this scale repeats, they have to make {share * 100:.0f} % of "
        f"{top.normalize():f} kg before loads may be substituted (OIML R 76-1:2006 3.7.3)."
    )
    return [Flag("substitution-share", said, {"placed": f"{placed:f} kg", "share": f"{share:f}"})]


def _most_pieces(reading: Reading, context: PhaseContext) -> Decimal:
    """The largest certified mass that stood on the scale at once, on the way to a load."""
    placed = context.worked.nominal(reading) if reading.pieces else Decimal(0)
    earlier = context.by_seq.get(reading.substitution) if reading.substitution is not None else None
    return max(placed, _most_pieces(earlier, context)) if earlier is not None else placed


def _repeatability_in_e(in_use: Range, context: PhaseContext) -> Decimal | None:
    """The range of the phase's weighings in e, taken up to the next step that matters; None without enough of them.

    A display coarser than 0.2 e hides up to a division of it: then only change-over points can show a small one, and
    these are not looked for here.
    """
    groups: dict[tuple[str, ...], list[Decimal]] = {}
    for reading in context.by_seq.values():
        if reading.test == "repeatability":
            groups.setdefault(reading.pieces, []).append(reading.indication.kg)
    ranges = [max(shown) - min(shown) for shown in groups.values() if len(shown) >= LEAST_READINGS]
    if not ranges:
        return None
    widest = max(ranges) + (in_use.d_kg if in_use.d_kg * 5 > in_use.e_kg else 0)
    return next((step for step in _SHARE_STEPS if widest <= step * in_use.e_kg), Decimal(1))
