"""Which weights to take on a round: gathers devices, sets and the technician of the day, and asks the one pure function."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

from sqlalchemy import Connection

from api.answers.plan import facts_of, held_in, pieces_in
from api.keeping.case_on_file import POLICY
from api.metrology.mass import EXACT
from api.metrology.pieces_for_loads import LoadMade, NotMade
from api.metrology.plan import plan_of
from api.metrology.policy import STARTING
from api.metrology.scale_of_round import scale_of_round
from api.metrology.stock import plain, stock_of
from api.metrology.weights import Piece
from api.metrology.weights_to_take import ScaleServed, WeightsToTake, weights_to_take
from api.queries.register import all_in_force, find_in_force
from api.records.cautions import CAUTIONS
from api.records.device import Device
from api.records.plan import CautionText
from api.records.round import (
    DeviceOnRound,
    LoadNotOnRound,
    LoadOnRound,
    NoRound,
    NotOnRound,
    PieceToTake,
    RoundAnswer,
    RoundAsked,
    SetToTake,
)
from api.records.weight import WeightSet

MAGNET = f"Not with these weights: test outside. {CAUTIONS['C-18']}"
RETIRED = "It is retired: it is not tested any more."


@dataclass(frozen=True, slots=True)
class _OnRegister:
    """What the round names, as it is on the register that day."""

    devices: tuple[Device, ...]
    sets: tuple[WeightSet, ...]
    limit_kg: Decimal | None


def weights_for(connection: Connection, asked: RoundAsked) -> RoundAnswer:
    """Return the weights to take; refuses devices, sets and a technician not on the register that day (`NoRound`).

    Devices in a magnet zone and retired ones are told apart and left out of the choice.
    """
    named = _named(connection, asked)
    going, not_with_these = _who_goes(connection, named.devices, asked.on)
    policy = find_in_force(connection, "policy", POLICY, on=asked.on)
    rules = policy.record if policy else STARTING
    by_set = _pieces_by_set(connection, named.sets, asked.on)
    held = {piece.code: piece for pieces in by_set.values() for piece in pieces}
    stock = stock_of(held.values(), rules, named.limit_kg, certified=True)
    pieces = tuple(held.values())
    scales = [scale_of_round(replace(facts_of(connection, device, asked.on), pieces=pieces), stock) for device in going]
    found = weights_to_take(scales, stock, rules)
    against = tuple(piece for weight_set in named.sets for piece in held_in(connection, weight_set.code, asked.on))
    return replace(_answered(asked.on, found, going, by_set, not_with_these), held=against)


def _named(connection: Connection, asked: RoundAsked) -> _OnRegister:
    devices = {tag: find_in_force(connection, "device", tag, on=asked.on) for tag in dict.fromkeys(asked.devices)}
    sets = {code: find_in_force(connection, "weight set", code, on=asked.on) for code in dict.fromkeys(asked.sets)}
    who = {t: find_in_force(connection, "technician", t, on=asked.on) for t in (asked.technician,) if t is not None}
    missing = {
        name: ", ".join(key for key, revision in held.items() if revision is None)
        for name, held in (("devices", devices), ("sets", sets), ("technician", who))
    }
    if any(missing.values()):
        said = "; ".join(f"{name}: {keys}" for name, keys in missing.items() if keys)
        raise NoRound(
            f"Not on the register on {asked.on.isoformat()}: {said}.", **{n: k for n, k in missing.items() if k}
        )
    held = sets.values() if asked.sets else all_in_force(connection, "weight set", on=asked.on)
    limits = [asked.largest_piece, *[r.record.heaviest_piece for r in who.values() if r]]
    return _OnRegister(
        tuple(r.record for r in devices.values() if r), tuple(r.record for r in held if r),
        min((limit.kg for limit in limits if limit is not None), default=None),
    )  # fmt: skip


def _who_goes(
    connection: Connection, devices: Iterable[Device], on: date
) -> tuple[list[Device], tuple[NotOnRound, ...]]:
    going, staying = [], []
    for device in devices:
        ward = find_in_force(connection, "ward", device.ward, on=on)
        if device.state == "retired":
            staying.append(NotOnRound(device.tag, RETIRED))
        elif ward is not None and ward.record.magnet_zone:
            staying.append(NotOnRound(device.tag, MAGNET))
        else:
            going.append(device)
    return going, tuple(staying)


def _pieces_by_set(connection: Connection, sets: Iterable[WeightSet], on: date) -> dict[str, tuple[Piece, ...]]:
    """The pieces of each set that day, by its code; a piece that two sets claim counts with the first."""
    found: dict[str, tuple[Piece, ...]] = {}
    seen: set[str] = set()
    for held in sorted(sets, key=lambda s: s.code):
        found[held.code] = tuple(p for p in pieces_in(connection, held, on) if p.code not in seen)
        seen |= {piece.code for piece in found[held.code]}
    return found


def _answered(
    on: date,
    found: WeightsToTake,
    going: Sequence[Device],
    by_set: dict[str, tuple[Piece, ...]],
    staying: tuple[NotOnRound, ...],
) -> RoundAnswer:
    cautions = ("C-07", "C-18", "C-21") if staying else ("C-07", "C-21")
    taken = set(found.pieces)
    pieces = tuple(p for held in by_set.values() for p in held if p.code in taken)
    sets = [
        SetToTake(code, _total(some), tuple(PieceToTake(p.code, p.nominal) for p in some))
        for code, pieces in by_set.items()
        if (some := sorted((p for p in pieces if p.code in taken), key=lambda p: (-p.nominal.kg, p.code)))
    ]
    return RoundAnswer(
        on=on, total_kg=found.total_kg, pieces_out=len(found.pieces), sets=tuple(sets), least_kg=found.least_kg,
        gap_kg=plain(found.gap_kg), proven=found.proven, lifts=found.lifts, moved_kg=plain(found.moved_kg),
        lifts_proven=found.lifts_proven,
        devices=tuple(_device(device, served, pieces) for device, served in zip(going, found.scales, strict=True)),
        not_with_these=staying, left_out=found.left_out,
        cautions=tuple(CautionText(code, CAUTIONS[code]) for code in cautions),
    )  # fmt: skip


def _total(pieces: Iterable[Piece]) -> Decimal:
    total = Decimal(0)
    for piece in pieces:
        total = EXACT.add(total, piece.nominal.kg)
    return plain(total)


def _device(device: Device, served: ScaleServed, taken: tuple[Piece, ...]) -> DeviceOnRound:
    series = served.series
    return DeviceOnRound(
        device=device.tag, kind=served.scale.facts.scale.kind, ward=device.ward, place=device.place,
        proves=_proves(served), proven_kg=plain(served.proven_kg), top_kg=plain(served.scale.top_kg),
        loads=tuple(_load(made) for made in series.made), others=tuple(_load(made) for made in served.others),
        impossible=tuple(_not_made(load) for load in (*series.not_made, *served.others_not_made)),
        whole_plan=None if served.scale.cannot else plan_of(replace(served.scale.facts, pieces=taken)).lifting,
        ballast=tuple(exchange.step for exchange in served.ballast.exchanges),
        lifts=series.lifts, moved_kg=plain(series.moved_kg), lifting=_lifting(served),
        heaviest_kg=served.heaviest_kg, index=served.index,
    )  # fmt: skip


def _load(made: LoadMade) -> LoadOnRound:
    wanted = made.wanted
    return LoadOnRound(
        plain(wanted.target_kg), made.nominal_kg, made.pieces, plain(wanted.tolerance_kg), made.error_bound_kg
    )


def _not_made(load: NotMade) -> LoadNotOnRound:
    return LoadNotOnRound(plain(load.wanted.target_kg), load.sentence, load.nearest_kg)


def _proves(served: ScaleServed) -> str:
    """How far the scale is proven, and how ballast could go on."""
    if served.scale.cannot is not None:
        return f"Nothing can be placed: {served.scale.cannot}"
    if not served.series.made:
        return "These weights make none of its loads: nothing is proven."
    proven, top = plain(served.proven_kg), plain(served.scale.top_kg)
    if served.whole:
        return f"Proven over all its loads, up to {proven:f} kg of {top:f} kg."
    said = f"Proven up to {proven:f} kg of {top:f} kg; loads listed as impossible are not."
    if exchanges := served.ballast.exchanges:
        reached = plain(exchanges[-1].step.reaches_kg)
        said += f" Substitution with ballast could reach {reached:f} kg: {served.ballast.rule}."
    if served.ballast.ends:
        said += f" {served.ballast.ends}"
    return said


def _lifting(served: ScaleServed) -> str:
    """Caution C-07 with the numbers of this scale."""
    if served.index is None or served.heaviest_kg is None:
        return f"Nothing is lifted. {CAUTIONS['C-07']}"
    return (
        f"{served.series.lifts} lifts, {plain(served.series.moved_kg):f} kg moved for the loads of this scale, one series "
        f"up, with pieces up to {served.heaviest_kg:f} kg (lifting index {served.index.index:.1f}, "
        f"{served.index.situation}). {CAUTIONS['C-07']}"
    )
