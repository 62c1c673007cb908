"""The case that a submission makes on file: everything on the register that day which it is judged against, and what
is not there. Register keys are nullable beside the code as sent: a measurement is kept, whatever the register lacks."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal
from typing import Any

from sqlalchemy import Connection

from api.database import sites_in_sight
from api.keeping.register_checks import before_known, device_flags, technician_flags, unknown, ward_flags, weight_flags
from api.metrology.judgement import Flag
from api.metrology.judging import Case
from api.metrology.policy import STARTING, Policy
from api.metrology.repeatability import Spread
from api.metrology.submission import Submission
from api.metrology.tolerance import HouseTolerance
from api.metrology.weights import Piece
from api.queries.register import chain_of, derived, find_in_force
from api.queries.weights import pieces_on, weight_revisions
from api.records.device import Device, DeviceModel
from api.records.documents import document_of
from api.records.house_rule import HouseRule
from api.records.people import Technician
from api.records.place import Site, Ward
from api.records.register import Revision

POLICY = STARTING.code


@dataclass(slots=True)
class OnFile:
    """What the register holds for a visit on its day, None where it holds nothing, and the flags that follow.

    `case_of_app` is the case by the device's definition that the app had, where that was another one.
    """

    site: Revision[Site] | None
    device: Revision[Device] | None
    model: Revision[DeviceModel] | None
    ward: Revision[Ward] | None
    technician: Revision[Technician] | None
    policy: Revision[Policy] | None
    house_rule: Revision[HouseRule] | None = None
    weights: tuple[Revision[Any], ...] = ()
    case: Case | None = None
    case_of_app: Case | None = None
    flags: list[Flag] = field(default_factory=list)

    def judged_with(self) -> dict[str, Any]:
        """Return the revisions that the judgement rests on, for its working: an auditor finds each of them again."""
        named: dict[str, Any] = {}
        if self.device and self.model:
            named["device"] = {
                "tag": self.device.key, "revision": self.device.number, "model": self.model.key,
                "model_revision": self.model.number, "kind": self.model.record.kind,
                "accuracy_class": self.model.record.accuracy_class,
            }  # fmt: skip
        if self.policy:
            named["policy"] = {"code": self.policy.key, "revision": self.policy.number}
        if self.house_rule:
            rule = self.house_rule
            named["house_rule"] = {"code": rule.key, "revision": rule.number, **document_of(rule.record)}
        rests_on = [self.site, self.ward, self.technician, *self.weights]
        named["register"] = [{"kind": r.kind, "key": r.key, "revision": r.number} for r in rests_on if r is not None]
        return named


def on_file(connection: Connection, sent: Submission) -> OnFile:
    """Return everything on the register that a submission is judged against, with the flags for what is missing."""
    day = sent.performed_on
    device = find_in_force(connection, "device", sent.device, on=day)
    ward = sent.ward or (device.record.ward if device else None)
    held = OnFile(
        site=find_in_force(connection, "site", sent.site, on=day),
        device=device,
        model=find_in_force(connection, "model", device.record.model, on=day) if device else None,
        ward=find_in_force(connection, "ward", ward, on=day) if ward else None,
        technician=find_in_force(connection, "technician", sent.technicians[0], on=day),
        policy=find_in_force(connection, "policy", POLICY, on=day),
    )
    used = sent.pieces_used
    held.flags += _flags(connection, sent, held, used)
    if device is not None and held.model is not None:
        pieces = pieces_on(connection, used, day)
        held.weights = weight_revisions(connection, used, day)
        held.case = _case(connection, sent, device.record, held.model, held, pieces)
        held.case_of_app = _case_of_app(connection, sent, held, pieces)
    return held


def _flags(connection: Connection, sent: Submission, held: OnFile, used: Sequence[str]) -> list[Flag]:
    sites = sites_in_sight(connection)
    flags = [] if held.site else [unknown("unknown-site", "site", sent.site, "#/site")]
    if held.device is None:
        flags.append(
            before_known(connection, "device", sent.device, sent.performed_on, "#/device")
            or unknown("unknown-device", "device", sent.device, "#/device", sites)
        )
    else:
        flags += device_flags(sent, held.device)
        if held.model is None:
            flags.append(unknown("unknown-model", "model", held.device.record.model, "#/device"))
    return [
        *flags,
        *ward_flags(sent, held.ward, sites),
        *technician_flags(connection, sent, held.model.record if held.model else None),
        *weight_flags(connection, sent, used),
    ]


def _case_of_app(connection: Connection, sent: Submission, held: OnFile, pieces: Mapping[str, Piece]) -> Case | None:
    """The case by the definition that the app had, where it was another than the one in force and is on the register."""
    chain = chain_of(connection, "device", sent.device)
    had = next((revision for revision in chain if revision.number == sent.device_revision), None)
    if had is None or had is held.device:
        return None
    model = find_in_force(connection, "model", had.record.model, on=sent.performed_on)
    return None if model is None else _case(connection, sent, had.record, model, replace(held, flags=[]), pieces)


def _case(
    connection: Connection,
    sent: Submission,
    device: Device,
    model: Revision[DeviceModel],
    held: OnFile,
    pieces: Mapping[str, Piece],
) -> Case | None:
    house = _house(connection, device, sent.performed_on, held)
    if device.tolerance.scheme == "house" and house is None:
        return None
    used = device.heaviest_load_used
    return Case(
        submission=sent,
        scale=derived(connection, ("scale", model.key, model.number), model.record.as_scale),
        scheme_name=device.tolerance.scheme,
        edition=device.tolerance.edition,
        house=house,
        pieces=pieces,
        policy=held.policy.record if held.policy else STARTING,
        heaviest_load_used_kg=used.kg if used else None,
        registered_spread=spread_on_file(device),
        unit_lock_required=device.unit_lock_required,
        clinical=held.ward.record.as_need() if held.ward else None,
        height_m=held.site.record.height_m if held.site else None,
    )


def _house(connection: Connection, device: Device, day: date, held: OnFile) -> HouseTolerance | None:
    code = device.tolerance.house_rule
    if device.tolerance.scheme != "house":
        return None
    rule = find_in_force(connection, "house rule", code, on=day) if code else None
    if rule is None:
        held.flags.append(unknown("unknown-house-rule", "house rule", code or "", "#/device"))
        return None
    held.house_rule = rule
    tolerance: HouseTolerance = rule.record.as_tolerance()
    return tolerance


def spread_on_file(device: Device) -> Spread | None:
    """Return the repeatability that the register holds of a device, or None where it holds none."""
    held = device.repeatability
    if held is None or held.standard_deviation.kg == Decimal(0):
        return None
    source = f"held for the device: {held.source}"
    return Spread(float(held.standard_deviation.kg), float(held.degrees_of_freedom), source)
