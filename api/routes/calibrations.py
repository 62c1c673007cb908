"""Calibrations: sent once by the app under an id of its own, read back as kept."""

import uuid

from flask import Response, g, request
from flask.views import MethodView

from api.actions.record_calibration import record_calibration
from api.database import reading, unit_of_work
from api.keeping.content import Arrived
from api.metrology.submission import Submission
from api.queries.calibrations import calibration
from api.queries.content import content_sent
from api.records.problems import NotOnRecord
from api.routes.bodies import answer, engine, now, sent_at, unread_fields
from api.routes.contract import Doors, question
from api.routes.doorkeeper import caller, needs
from api.routes.questions import asked
from schemas.answers import CalibrationSchema, ReceiptSchema
from schemas.submission import SubmissionSchema

CALIBRATIONS = Doors(
    "calibrations", __name__, url_prefix="/v1/calibrations", description="Calibrations as sent and judged"
)

_HEADERS = [
    {"in": "header", "name": "Steelyard-Sent-At", "schema": {"type": "string"}, "required": False,
     "description": "The app's clock at the moment of sending, RFC 3339 with its offset; kept with the arrival, not part of "
     "the content. Where it cannot be read, the calibration is kept all the same and the receipt has a note."},
    {"in": "header", "name": "Steelyard-By", "schema": {"type": "string"}, "required": False,
     "description": "The code of whoever sends, noted and not believed: where it cannot be read, the log has it as unnamed "
     "and the receipt has a note. Where keys are asked for, the key says who it is and this field says nothing."},
]  # fmt: skip


@CALIBRATIONS.route("/<uuid:calibration_id>")
class One(MethodView):
    """One calibration under its id."""

    @needs("submit")
    @CALIBRATIONS.arguments(SubmissionSchema)
    @CALIBRATIONS.doc(parameters=_HEADERS)
    @CALIBRATIONS.response(201, ReceiptSchema)
    @CALIBRATIONS.alt_response(200, schema=ReceiptSchema)
    @CALIBRATIONS.alt_response(409, "CONFLICT")
    def put(self, sent: Submission, calibration_id: uuid.UUID) -> Response:
        """Send a calibration: 201 kept, 200 kept before (the same content), 409 other content under this id."""
        asked()
        who = caller()
        who.check_own(sent.site)
        arrived = Arrived(
            str(calibration_id), request.get_data(), g.content, who.code, now(), sent_at(), unread_fields()
        )
        receipt = unit_of_work(engine(), lambda connection: record_calibration(connection, arrived, sent))
        return answer(
            receipt, 200 if receipt.replayed else 201, Location=f"/v1/calibrations/{calibration_id}?site={sent.site}"
        )

    @needs("read")
    @question("site")
    @CALIBRATIONS.response(200, CalibrationSchema)
    def get(self, calibration_id: uuid.UUID) -> Response:
        """Read a calibration: content, judgement with its whole working, standing, flags."""
        where = asked("site")
        with reading(engine()) as connection:
            found = calibration(connection, str(calibration_id), where.get("site"))
        return answer(found)


@CALIBRATIONS.route("/<uuid:calibration_id>/content")
class Content(MethodView):
    """What was sent, byte for byte."""

    @needs("read")
    @question("site")
    @CALIBRATIONS.response(200, SubmissionSchema)
    def get(self, calibration_id: uuid.UUID) -> Response:
        """Read the bytes that were sent."""
        where = asked("site")
        with reading(engine()) as connection:
            found = calibration(connection, str(calibration_id), where.get("site"))
            kept = content_sent(connection, found.site, found.calibration)
        if kept is None:
            raise NotOnRecord("Its content is not on record.", calibration=found.calibration)
        return Response(kept.body, content_type="application/json", headers={"Steelyard-Digest": found.digest})
