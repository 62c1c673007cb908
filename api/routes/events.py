"""Events of devices: told by wards and the desk, read with where each stands, closed by a person."""

import uuid
from collections.abc import Sequence
from datetime import UTC
from typing import Any

from flask import Response, g, request
from flask.views import MethodView

from api.actions.close_event import close_event
from api.actions.record_check import record_check
from api.actions.report_trouble import report_trouble
from api.answers.device_events import events_listed, events_of_device, standing_of_event
from api.answers.local_day import local_day
from api.database import reading, unit_of_work
from api.keeping.content import Arrived
from api.queries.device_events import EventsAsked, event_named
from api.queries.register import in_force
from api.records.device_event import DeviceEvent, EventReceipt
from api.records.event_sent import ClosingAsked, TroubleReport
from api.records.listing import Part, part_of
from api.records.problems import KeyDiffers
from api.routes.bodies import answer, engine, json_body, now, sent_at, unread_fields
from api.routes.contract import Doors, question
from api.routes.doorkeeper import caller, needs, person
from api.routes.lists import LINKED, asked_part, list_answer, listing
from api.routes.questions import asked
from api.routes.receiving import SENT_HEADERS
from schemas.events import (
    CheckSchema,
    ClosingSchema,
    DeviceEventSchema,
    EventReceiptSchema,
    EventsSchema,
    ReportSchema,
    check_from,
    report_with_device,
    report_with_id,
)

EVENTS = Doors("events", __name__, url_prefix="/v1", description="What happens to a device between calibrations")

EVENT_FILTERS = ("site", "event.device", "event.kind", "open")
CHECK = {"required": True, "content": {"application/json": {"schema": CheckSchema}}}
REPORT = {"required": True, "content": {"application/json": {"schema": ReportSchema}}}


def event_arrived(event: str, by_whom: str | None = None) -> Arrived:
    """Return the arrival of an event with this request; refuses an `id` in it that is not its own (`KeyDiffers`).

    `by_whom` is the person who answers for it, where it is not the caller in general.
    """
    said = g.content.get("id")
    if isinstance(said, str) and said.lower() != event:
        raise KeyDiffers(f"The address names event {event}, the body {said}.", address=event, body=said)
    return Arrived(event, request.get_data(), g.content, by_whom or caller().code, now(), sent_at(), unread_fields())


def receipt_answer(receipt: EventReceipt) -> Response:
    """Return the receipt of an event as an answer: 201 kept, 200 kept before."""
    where = f"/v1/events/{receipt.event}?site={receipt.site}"
    return answer(receipt, 200 if receipt.replayed else 201, Location=where)


def _reported(event: str, tag: str, sent: TroubleReport) -> Response:
    if sent.device not in (None, tag):
        raise KeyDiffers(
            f"The address names device {tag}, the body {sent.device}.", address=tag, body=sent.device or ""
        )
    caller().check_own(sent.site)
    arrived = event_arrived(event)
    return receipt_answer(unit_of_work(engine(), lambda connection: report_trouble(connection, arrived, sent, tag)))


@EVENTS.route("/reports/<uuid:event_id>")
class Report(MethodView):
    """One trouble report under its id."""

    @needs("report")
    @EVENTS.doc(parameters=SENT_HEADERS, requestBody=REPORT)
    @EVENTS.response(201, EventReceiptSchema)
    @EVENTS.alt_response(200, schema=EventReceiptSchema)
    @EVENTS.alt_response(409, "CONFLICT")
    def put(self, event_id: uuid.UUID) -> Response:
        """Report trouble with a scale: 201 kept, 200 kept before (the same content), 409 other content under this id.

        It counts at once: whether the scale may be used follows it. A tag that is not known is kept, flagged, and listed.
        No patient's name or number, no person's name: roles only (C-11).
        """
        asked()
        sent = report_with_device(json_body())
        return _reported(str(event_id), str(sent.device), sent)


@EVENTS.route("/devices/<tag>/reports")
class ReportsOfDevice(MethodView):
    """Trouble reports to the address of their device."""

    @needs("report")
    @EVENTS.doc(parameters=SENT_HEADERS, requestBody=REPORT)
    @EVENTS.response(201, EventReceiptSchema)
    @EVENTS.alt_response(200, schema=EventReceiptSchema)
    @EVENTS.alt_response(409, "CONFLICT")
    def post(self, tag: str) -> Response:
        """Report trouble whose `id` is in its body: the same as putting it to the address of that id."""
        asked()
        sent = report_with_id(json_body())
        return _reported(str(sent.id).lower(), tag, sent)


@EVENTS.route("/checks/<uuid:event_id>")
class Check(MethodView):
    """One check in service under its id."""

    @needs("report")
    @EVENTS.doc(parameters=SENT_HEADERS, requestBody=CHECK)
    @EVENTS.response(201, EventReceiptSchema)
    @EVENTS.alt_response(200, schema=EventReceiptSchema)
    @EVENTS.alt_response(409, "CONFLICT")
    def put(self, event_id: uuid.UUID) -> Response:
        """Send a check by ward staff with one known load; judged at once by the tolerance of a scale in use.

        It speaks for its own load and place only. One that fails counts at once; none raises what may be used, and none is a
        calibration. 201 kept, 200 kept before, 409 other content under this id.
        """
        asked()
        sent = check_from(json_body())
        caller().check_own(sent.site)
        arrived = event_arrived(str(event_id))
        return receipt_answer(unit_of_work(engine(), lambda connection: record_check(connection, arrived, sent)))


@EVENTS.route("/events")
class All(MethodView):
    """Every event in sight."""

    @needs("read")
    @listing("on", *EVENT_FILTERS)
    @EVENTS.response(200, EventsSchema, headers=LINKED)
    def get(self) -> Response:
        """List events, the newest first, each with whether it is open on a day and what closed it.

        What was told of a tag that is not on the register has `device_on_register` false until it is.
        """
        where, part = asked_part("on", *EVENT_FILTERS)
        with reading(engine()) as connection:
            wanted = EventsAsked(where.get("site"), where.get("device"), where.get("kind"))
            found = events_listed(connection, wanted, at=now(), on=where.pop("on", None))
        return _listed([event for event in found if _is_asked(event, where)], part)


def _is_asked(event: DeviceEvent, where: dict[str, Any]) -> bool:
    return all(getattr(event, name) == value for name, value in where.items())


def _listed(events: Sequence[DeviceEvent], part: Part) -> Response:
    """The newest first, as they come from the record; of one moment by id and site."""
    return list_answer(
        part_of(events, lambda e: (e.counts_from.astimezone(UTC).isoformat(), e.event, e.site), part, falling=True)
    )


@EVENTS.route("/events/<uuid:event_id>")
class One(MethodView):
    """One event under its id."""

    @needs("read")
    @question("site", "on")
    @EVENTS.response(200, DeviceEventSchema)
    def get(self, event_id: uuid.UUID) -> Response:
        """Read an event: what was sent, what was made of it, where it stands on a day."""
        where = asked("site", "on")
        with reading(engine()) as connection:
            told = event_named(connection, str(event_id), where.get("site"))
            found = standing_of_event(connection, told, on=where.get("on") or local_day(connection, told.device, now()))
        return answer(found)


@EVENTS.route("/events/<uuid:event_id>/close")
class Close(MethodView):
    """The end of an open event."""

    @needs("amend")
    @question("site")
    @EVENTS.arguments(ClosingSchema, example={"words": "Looked at in the workshop: nothing bent, nothing loose."})
    @EVENTS.response(200, DeviceEventSchema)
    @EVENTS.alt_response(409, "CONFLICT")
    def post(self, wanted: ClosingAsked, event_id: uuid.UUID) -> Response:
        """Close an open event in a person's own words. The same words again change nothing."""
        site, who, moment = asked("site").get("site"), person(), now()
        closed = unit_of_work(
            engine(), lambda c: close_event(c, str(event_id), site, wanted, by_whom=who, moment=moment)
        )  # fmt: skip
        return answer(closed)


@EVENTS.route("/devices/<tag>/events")
class OfDevice(MethodView):
    """What happened to one device."""

    @needs("read")
    @listing("on", "event.kind", "open")
    @EVENTS.response(200, EventsSchema, headers=LINKED)
    def get(self, tag: str) -> Response:
        """List what happened to a device between its calibrations, the newest first, each with whether it is open."""
        where, part = asked_part("on", "event.kind", "open")
        with reading(engine()) as connection:
            on = where.pop("on", None) or local_day(connection, tag, now())
            found = events_of_device(connection, tag, on=on)
            if not found:
                in_force(connection, "device", tag, on=on)
        return _listed([event for event in found if _is_asked(event, where)], part)
