"""Labels: stuck on after a visit under an id made without signal, looked up, printed, printed again, void, taken off."""

import uuid
from datetime import UTC

from flask import Response, g, request
from flask.views import MethodView
from sqlalchemy import Connection

from api.actions.record_label_event import record_label_event
from api.actions.stick_label import stick_label
from api.answers.labels import label_read, labels_on
from api.database import reading, unit_of_work
from api.exchange.label_svg import label_svg
from api.keeping.content import Arrived
from api.ledger.digests import digest_of
from api.ledger.label_ids import read_label_id
from api.queries.labels import label
from api.queries.log import hash_of_entry
from api.records.label import LabelEventSent, LabelRead, LabelReceipt, LabelSent
from api.records.listing import Place, part_of
from api.records.problems import LabelNotOfRecord, LabelNotRight, NotOnRecord
from api.routes.bodies import answer, engine
from api.routes.contract import Doors, question
from api.routes.doorkeeper import caller, needs
from api.routes.lists import LINKED, asked_part, list_answer, listing
from api.routes.questions import asked, today
from api.routes.receiving import SENT_HEADERS, arrived_now
from api.routes.site import guarded
from schemas.answers import LabelReceiptSchema, LabelSchema, LabelsSchema
from schemas.labels import LabelEventSentSchema, LabelSentSchema

LABELS = Doors("labels", __name__, url_prefix="/v1", description="The labels stuck on scales")

STUCK = {
    "schema": "label/1", "site": "QG", "device": "A-04", "calibration": "0193f0aa-0000-7000-8000-000000000002",
    "says": "use within limits", "tested_on": "2026-11-24", "up_to": {"value": "50", "unit": "kg"}, "by": "T-01",
    "stuck_at": "2026-11-24T10:30:00-07:00", "old_label": {"was": "removed"},
}  # fmt: skip
STUCK_AS = "M2M0-1MJN-YYPC"
ENDED = {
    "schema": "label-event/1", "kind": "void", "happened_at": "2026-11-24T11:00:00-07:00", "by": "T-01",
    "reason": "the due date on it was mistyped",
}  # fmt: skip
DRAWING = {"type": "string", "description": "The label as an SVG drawing, 62 mm by 30 mm"}


@LABELS.route("/devices/<tag>/labels")
class OfDevice(MethodView):
    """The labels of a device."""

    @needs("read")
    @listing("on")
    @LABELS.response(200, LabelsSchema, headers=LINKED)
    def get(self, tag: str) -> Response:
        """List the labels that were stuck on a device, the newest first, each with whether it is still right and why not."""
        where, part = asked_part("on")
        with reading(engine()) as connection:
            found = labels_on(connection, tag, where["on"] if "on" in where else today())
        return list_answer(part_of(found, _place, part, falling=True), device=tag)


def _place(read: LabelRead) -> Place:
    return read.stuck_at.astimezone(UTC).isoformat(), read.label, read.site


@LABELS.route("/labels/<label_id>")
class One(MethodView):
    """One label."""

    @needs("submit")
    @LABELS.doc(parameters=SENT_HEADERS)
    @LABELS.arguments(LabelSentSchema, example=STUCK)
    @LABELS.response(201, LabelReceiptSchema)
    @LABELS.alt_response(200, schema=LabelReceiptSchema)
    @LABELS.alt_response(409, "CONFLICT")
    def put(self, sent: LabelSent, label_id: str) -> Response:
        """Tell that a label was stuck on: 201 kept, 200 kept before (the same content), 409 other content under this id.

        The id is made without signal: SHA-256 of `label/1|SITE|CALIBRATION|PLACE` in UTF-8 (the record's id in lower case,
        `place` in decimals), its first 55 bits in eleven characters of `0123456789ABCDEFGHJKMNPQRSTVWXYZ`, the highest bits
        first, and one check character by ISO/IEC 7064 MOD 37,36; written in groups of four.
        """
        asked()
        caller().check_own(sent.site)
        named = read_label_id(label_id)
        if named is None:
            raise LabelNotOfRecord(f"{label_id[:40]!r} is no label's id, or it is mistyped.", found=label_id[:40])
        arrived = arrived_now(named, request.get_data(), g.content)
        return unit_of_work(
            engine(), lambda connection: _receipt(connection, arrived, named, stick_label(connection, arrived, sent))
        )

    @needs("read")
    @question("on")
    @LABELS.response(200, LabelSchema)
    def get(self, label_id: str) -> Response:
        """Read a label: what it says, whether that is still right, and why not; as typed from it, with or without hyphens."""
        where = asked("on")
        with reading(engine()) as connection:
            found = label_read(connection, _named(label_id), where.get("on", today()))
        return answer(found)


@LABELS.route("/labels/<label_id>/drawing.svg")
class Drawing(MethodView):
    """A label to print."""

    @needs("read")
    @LABELS.response(200, DRAWING, content_type="image/svg+xml")
    @LABELS.alt_response(409, "CONFLICT")
    def get(self, label_id: str) -> Response:
        """Draw a label for a label printer. One that is not right is not drawn: 409 says why."""
        asked()
        with reading(engine()) as connection:
            found = label_read(connection, _named(label_id), today())
        if not found.right:
            said = " ".join(reason.sentence for reason in found.why)
            raise LabelNotRight(
                f"Label {found.label} is not right: {said}", label=found.label, why=", ".join(r.code for r in found.why)
            )
        return guarded(Response(label_svg(found), content_type="image/svg+xml; charset=utf-8"))


@LABELS.route("/labels/<label_id>/events/<uuid:event_id>")
class Event(MethodView):
    """Something that happened to a label."""

    @needs("submit")
    @LABELS.doc(parameters=SENT_HEADERS)
    @LABELS.arguments(LabelEventSentSchema, example=ENDED)
    @LABELS.response(201, LabelReceiptSchema)
    @LABELS.alt_response(200, schema=LabelReceiptSchema)
    @LABELS.alt_response(409, "CONFLICT")
    def put(self, sent: LabelEventSent, label_id: str, event_id: uuid.UUID) -> Response:
        """Tell that a label was printed again, made void because of a slip, or taken off. Create-only, as the label is."""
        asked()
        named, arrived = _named(label_id), arrived_now(str(event_id), request.get_data(), g.content)

        def kept(connection: Connection) -> Response:
            on = label(connection, named)
            caller().check_own(on.site)
            return _receipt(connection, arrived, named, record_label_event(connection, arrived, on, sent))

        return unit_of_work(engine(), kept)


def _named(label_id: str) -> str:
    found = read_label_id(label_id)
    if found is None:
        raise NotOnRecord("No label of that id is on record; it may be mistyped.", label=label_id[:40])
    return found


def _receipt(connection: Connection, arrived: Arrived, named: str, new: bool) -> Response:
    found = label_read(connection, named, today())
    receipt = LabelReceipt(
        not new, digest_of(arrived.body), found.log_number, hash_of_entry(connection, found.log_number), found
    )
    return answer(receipt, 201 if new else 200, Location=f"/v1/labels/{named}")
