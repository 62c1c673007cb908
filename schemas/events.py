"""Events of a device on the wire: what is sent of each kind, and what is answered. Shape only."""

from typing import Any

from marshmallow import ValidationError
from marshmallow import fields as wire

from api.records.device_event import DeviceEvent, EventReceipt
from api.records.event_sent import (
    ClosingAsked,
    DeviceMove,
    InServiceCheck,
    Repair,
    StateChange,
    TroubleReport,
    WrittenLimit,
)
from schemas.parts import PartSchema
from schemas.sentences import MISSING, said
from schemas.wire_shape import Faults, checked_by, wire_shape


def _report(sent: TroubleReport) -> Faults:
    if sent.kind == "other" and not (sent.words or "").strip():
        return {"words": ["Missing; a report of kind other says in words what it is."]}
    return {}


def _check(sent: InServiceCheck) -> Faults:
    if (sent.pieces is None) == (sent.known is None):
        found = "neither pieces nor known" if sent.pieces is None else "both pieces and known"
        return {"_schema": [f"Found {found}; accepted: one of the two, whichever names the load."]}
    if sent.known is not None and (sent.known.mass.value <= 0 or sent.known.off_by_at_most.value <= 0):
        return {"known": ["Found a mass that is not above zero; accepted: the load, and the most it may be off."]}
    return {}


def _limit(sent: WrittenLimit) -> Faults:
    if sent.up_to.value <= 0:
        return {"up_to": ["Found a mass that is not above zero; accepted: the heaviest load that is allowed."]}
    if sent.until < sent.happened_at.date():
        return {
            "until": [f"Found {said(sent.until.isoformat())}; accepted: the day from which it holds, or a later one."]
        }
    return {}


checked_by(TroubleReport, _report)
checked_by(InServiceCheck, _check)
checked_by(WrittenLimit, _limit)

ReportSchema = wire_shape(TroubleReport)
CheckSchema = wire_shape(InServiceCheck)
MoveSchema = wire_shape(DeviceMove)
StateSchema = wire_shape(StateChange)
LimitSchema = wire_shape(WrittenLimit)
RepairSchema = wire_shape(Repair)
ClosingSchema = wire_shape(ClosingAsked)
EventReceiptSchema = wire_shape(EventReceipt)
DeviceEventSchema = wire_shape(DeviceEvent)


class EventsSchema(PartSchema):
    """Events, the newest first, each with where it stands."""

    items = wire.List(wire.Nested(DeviceEventSchema), required=True)


def report_with_device(content: Any) -> TroubleReport:
    """Return a report whose address names only its id, so that it has to name its device itself."""
    return _needing(ReportSchema().load(content), "device")


def report_with_id(content: Any) -> TroubleReport:
    """Return a report whose address names only its device, so that it has to have its id in itself."""
    return _needing(ReportSchema().load(content), "id")


def _needing(sent: TroubleReport, name: str) -> TroubleReport:
    if getattr(sent, name) is None:
        raise ValidationError({name: [MISSING]})
    return sent


def check_from(content: Any) -> InServiceCheck:
    """Return the check that parsed JSON holds; raises marshmallow's ValidationError with all faults."""
    loaded: InServiceCheck = CheckSchema().load(content)
    return loaded
