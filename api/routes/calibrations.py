"""Calibrations: sent once by the app under an id of its own, checked beforehand if it likes, read back as kept."""

import uuid

from flask import Response, g, request
from flask.views import MethodView

from api.answers.check import check
from api.answers.life_of import life_of
from api.database import reading, unit_of_work
from api.queries.calibration_lists import calibrations_listed
from api.queries.calibrations import calibration
from api.queries.content import revisions_sent
from api.queries.devices import tags_of
from api.routes.bodies import answer, engine, json_body, now, sent_at, unread_fields
from api.routes.contract import Doors, question
from api.routes.doorkeeper import caller, needs
from api.routes.list_filters import CALIBRATION_FILTERS
from api.routes.lists import LINKED, asked_part, list_answer, listing
from api.routes.preconditions import tagged
from api.routes.questions import asked, today
from api.routes.receiving import SENT_HEADERS, Sent, arrived_now, receipt_answer, receive
from schemas.answers import (
    CalibrationSchema,
    CalibrationsSchema,
    CheckedSchema,
    LifeSchema,
    QuarantineReceiptSchema,
    ReceiptSchema,
)
from schemas.submission import SubmissionSchema, submission_of, submission_or_newer, submission_with_id

CALIBRATIONS = Doors("calibrations", __name__, url_prefix="/v1", description="Calibrations as sent and judged")

SUBMISSION = {"required": True, "content": {"application/json": {"schema": SubmissionSchema}}}


def _received(calibration_id: str, sent: Sent) -> Response:
    arrived = arrived_now(calibration_id, request.get_data(), g.content)
    return receipt_answer(unit_of_work(engine(), lambda connection: receive(connection, arrived, sent)))


@CALIBRATIONS.route("/calibrations")
class All(MethodView):
    """All calibrations; one more, whose id stands in the body."""

    @needs("read")
    @listing(*CALIBRATION_FILTERS)
    @CALIBRATIONS.response(200, CalibrationsSchema, headers=LINKED)
    def get(self) -> Response:
        """List calibrations and attempts in short, newest visit first."""
        where, part = asked_part(*CALIBRATION_FILTERS)
        with reading(engine()) as connection:
            if (tag := where.pop("device", None)) is not None:
                where["tags"] = tags_of(connection, tag, on=today())
            found = calibrations_listed(connection, where, part)
        return list_answer(found)

    @needs("submit")
    @CALIBRATIONS.doc(parameters=SENT_HEADERS, requestBody=SUBMISSION)
    @CALIBRATIONS.response(201, ReceiptSchema)
    @CALIBRATIONS.alt_response(200, schema=ReceiptSchema)
    @CALIBRATIONS.alt_response(202, schema=QuarantineReceiptSchema)
    @CALIBRATIONS.alt_response(409, "CONFLICT")
    def post(self) -> Response:
        """Send a calibration whose `id` is in its body: the same as putting it to the address of that id."""
        asked()
        return _received(*submission_with_id(json_body()))


@CALIBRATIONS.route("/calibrations:check")
class Check(MethodView):
    """Calibrations that are not kept."""

    @needs("submit")
    @CALIBRATIONS.doc(parameters=SENT_HEADERS[:1], requestBody=SUBMISSION)
    @CALIBRATIONS.response(200, CheckedSchema)
    def post(self) -> Response:
        """Say how a calibration would be judged and what would be flagged if it were sent now. Nothing is kept."""
        asked()
        content = json_body()
        sent = submission_of(content)
        caller().check_own(sent.site)
        with reading(engine()) as connection:
            checked = check(connection, sent, content, at=now(), sent_at=sent_at(), unread=unread_fields())
        return answer(checked)


@CALIBRATIONS.route("/calibrations/<uuid:calibration_id>")
class One(MethodView):
    """One calibration under its id."""

    @needs("submit")
    @CALIBRATIONS.doc(parameters=SENT_HEADERS, requestBody=SUBMISSION)
    @CALIBRATIONS.response(201, ReceiptSchema)
    @CALIBRATIONS.alt_response(200, schema=ReceiptSchema)
    @CALIBRATIONS.alt_response(202, schema=QuarantineReceiptSchema)
    @CALIBRATIONS.alt_response(409, "CONFLICT")
    def put(self, calibration_id: uuid.UUID) -> Response:
        """Send a calibration: 201 kept, 200 kept before (the same content), 409 other content under this id.

        202: its `schema` is newer than this service; it is kept whole, and judged by a later program.
        """
        asked()
        return _received(str(calibration_id), submission_or_newer(json_body()))

    @needs("read")
    @question("site", "revision", "judgement")
    @CALIBRATIONS.response(200, CalibrationSchema)
    def get(self, calibration_id: uuid.UUID) -> Response:
        """Read a calibration: content, judgement with its whole working, standing, flags; or an earlier revision of it."""
        where = asked("site", "revision", "judgement")
        with reading(engine()) as connection:
            found = calibration(connection, str(calibration_id), **where)
        return tagged(answer(found), found.revision)


@CALIBRATIONS.route("/calibrations/<uuid:calibration_id>/content")
class Content(MethodView):
    """What was sent, byte for byte."""

    @needs("read")
    @question("site", "revision")
    @CALIBRATIONS.response(200, SubmissionSchema)
    def get(self, calibration_id: uuid.UUID) -> Response:
        """Read the bytes that were sent, of the newest revision or of another."""
        where = asked("site", "revision")
        with reading(engine()) as connection:
            found = calibration(connection, str(calibration_id), **where)
            sent = revisions_sent(connection, found.site, found.calibration)
        body = next(one.body for one in sent if one.revision == found.revision)
        return Response(body, content_type="application/json", headers={"Steelyard-Digest": found.digest})


@CALIBRATIONS.route("/calibrations/<uuid:calibration_id>/life")
class Lived(MethodView):
    """The life of a calibration."""

    @needs("read")
    @question("site")
    @CALIBRATIONS.response(200, LifeSchema)
    def get(self, calibration_id: uuid.UUID) -> Response:
        """Read the life of a calibration: as sent, as judged, where it stood; who did what, when and why, in order."""
        where = asked("site")
        with reading(engine()) as connection:
            found = life_of(connection, str(calibration_id), where.get("site"))
        return answer(found)
