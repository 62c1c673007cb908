"""What to do on a scale on a day: gathers what is on the register that day, and asks the one pure function.

The digest is over the canonical JSON of the plan without its day; a submission names it in `procedure.plan`.
"""

from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

from sqlalchemy import Connection

from api.keeping.case_on_file import POLICY, spread_on_file
from api.keeping.held_pieces import held_on
from api.ledger.digests import canonical_bytes, digest_of
from api.metrology.mass import Mass
from api.metrology.plan import plan_of
from api.metrology.plan_steps import Need, Plan, PlanFacts
from api.metrology.policy import STARTING
from api.metrology.scale import Scale
from api.metrology.tolerance import HouseTolerance, Scheme, Stage, scheme
from api.metrology.weights import Piece
from api.queries.register import find_in_force, in_force
from api.queries.weights import pieces_on
from api.records.cautions import CAUTIONS
from api.records.device import Device, DeviceModel
from api.records.documents import document_of
from api.records.place import Ward
from api.records.plan import CautionText, HeldPiece, NoPlan, PlanAsked, PlanRead
from api.records.weight import WeightSet

# Default stages: as found in use, as left after an adjustment (HB 44 G-T.1 and G-T.2, mapped by our choice; R 76-1 3.5.2).
STAGES: dict[str, tuple[Stage, Stage]] = {
    "hb44": ("maintenance", "acceptance"), "r76": ("in-service", "initial"), "house": ("house", "house"),
}  # fmt: skip


def plan_for(connection: Connection, tag: str, asked: PlanAsked) -> PlanRead:
    """Return the plan for a device on a day, with the pieces of a set in force that day, or without pieces.

    Refuses as `facts_for` does.
    """
    plan = plan_of(facts_for(connection, tag, asked))
    cautions = tuple(CautionText(code, CAUTIONS[code]) for code in plan.cautions)
    return PlanRead(digest_of_plan(plan), plan, cautions, held_in(connection, asked.weight_set, asked.on))


def facts_for(connection: Connection, tag: str, asked: PlanAsked) -> PlanFacts:
    """Return everything that the plan for a device on a day is worked out from: of the device itself only its tag is in it.

    Refuses a device not on the register then (`NotOnRecord`); a retired one, a set, technician or ward that is not known,
    and a set without a piece in force that day (`NoPlan`).
    """
    device: Device = in_force(connection, "device", tag, on=asked.on).record
    if device.state == "retired":
        raise NoPlan(f"{tag} is retired: it is not tested any more.", device=tag, state=device.state)
    return replace(
        facts_of(connection, device, asked.on, asked.ward), weight_set=asked.weight_set,
        pieces=_pieces(connection, asked.weight_set, asked.on) if asked.weight_set else None,
        lift_limit_kg=_lift_limit_kg(connection, asked),
    )  # fmt: skip


def _lift_limit_kg(connection: Connection, asked: PlanAsked) -> Decimal | None:
    """The heaviest piece that whoever goes may lift, in kg; None where nobody said."""
    limits = [asked.largest_piece]
    if asked.technician is not None:
        who = _known(connection, "technician", asked.technician, asked.on)
        limits.append(who.heaviest_piece)
    return min((limit.kg for limit in limits if limit is not None), default=None)


def _known(connection: Connection, kind: str, key: str, on: date) -> Any:
    held = find_in_force(connection, kind, key, on=on)
    if held is None:
        said = f"No {kind} {key!r} is on the register on {on.isoformat()}. Name another, or none."
        raise NoPlan(said, **{kind.replace(" ", "_"): key})
    return held.record


def digest_of_plan(plan: Plan) -> str:
    """Return the digest by which a submission names a plan: that of its content, whatever the day."""
    content = {name: value for name, value in document_of(plan).items() if name != "on"}
    return digest_of(canonical_bytes(content))


def facts_of(connection: Connection, device: Device, on: date, at: str | None = None) -> PlanFacts:
    """Return what the register says of a device on a day that a plan is worked out from; tested in its own ward, or at
    another one, which decides whether pieces may go in. Refuses a ward that is not known (`NoPlan`)."""
    model: DeviceModel = in_force(connection, "model", device.model, on=on).record
    ward: Ward = in_force(connection, "ward", device.ward, on=on).record
    there: Ward = ward if at is None else _known(connection, "ward", at, on)
    policy = find_in_force(connection, "policy", POLICY, on=on)
    scale = model.as_scale()
    found, left = _schemes(connection, device, on)
    return PlanFacts(
        device=device.tag, on=on, scale=scale, unit=unit_of_plan(scale), as_found=found, as_left=left,
        policy=policy.record if policy else STARTING,
        heaviest_used_kg=_kg(device.heaviest_load_used), safe_working_load_kg=_kg(model.safe_working_load),
        dead_load_kg=_kg(model.dead_load), warm_up_min=model.warm_up_min, magnet_zone=there.magnet_zone,
        infection=there.infection_flag, need=_need(ward), spread=spread_on_file(device), ward=there.name,
        call=f"{there.call_role}, {there.call_number}",
    )  # fmt: skip


def _kg(mass: Mass | None) -> Decimal | None:
    return None if mass is None else mass.kg


def unit_of_plan(scale: Scale) -> str:
    """Return the unit a plan is written in: kilograms where the scale shows them, else grams, else its first."""
    return next((unit for unit in ("kg", "g") if unit in scale.by_unit), scale.ranges[0].unit)


def _schemes(connection: Connection, device: Device, on: date) -> tuple[Scheme, Scheme]:
    choice = device.tolerance
    house: HouseTolerance | None = None
    if choice.scheme == "house":
        house = in_force(connection, "house rule", choice.house_rule or "", on=on).record.as_tolerance()
    found, left = STAGES[choice.scheme]
    return scheme(choice.scheme, found, choice.edition, house), scheme(choice.scheme, left, choice.edition, house)


def _pieces(connection: Connection, code: str, on: date) -> tuple[Piece, ...]:
    """Return the pieces of a set by its code; refuses one that is not known, and one of which nothing is in force."""
    held: WeightSet = _known(connection, "weight set", code, on)
    pieces = pieces_in(connection, held, on)
    if not any(piece.certificate for piece in pieces):
        raise NoPlan(
            f"No piece of {code} has a certificate in force on {on.isoformat()}. Name another set, or another day.",
            weight_set=code, on=on.isoformat(), pieces=str(len(_members(held, on))),
        )  # fmt: skip
    return pieces


def pieces_in(connection: Connection, held: WeightSet, on: date) -> tuple[Piece, ...]:
    """Return the pieces of a set that day that are in use, not away and not held, certified or not."""
    active = [p for p in _members(held, on) if _is_active(find_in_force(connection, "weight", p, on=on))]
    against = held_on(connection, active, on)
    active = [piece for piece in active if piece not in against]
    return tuple(pieces_on(connection, active, on).values())


def held_in(connection: Connection, code: str | None, on: date) -> tuple[HeldPiece, ...]:
    """Return the pieces of a set that may not be counted on that day, each with why."""
    found = find_in_force(connection, "weight set", code, on=on) if code else None
    against = held_on(connection, _members(found.record, on), on) if found else {}
    return tuple(HeldPiece(piece, span.sentence) for piece, span in against.items())


def _members(held: WeightSet, on: date) -> list[str]:
    return [m.piece for m in held.members if m.since <= on and (m.to is None or on <= m.to)]


def _is_active(weight: Any) -> bool:
    return weight is not None and weight.record.state == "active"


def _need(ward: Ward) -> Need | None:
    limit = ward.clinical_limit
    if limit is None or (limit.mass is None and limit.percent is None):
        return None
    return Need(limit.mass.kg if limit.mass else None, limit.percent)
