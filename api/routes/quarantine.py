"""Submissions in a schema newer than this service: listed while they wait, and read byte for byte."""

import uuid

from flask import Response
from flask.views import MethodView

from api.database import reading
from api.queries.quarantine import in_quarantine, quarantine_listed
from api.records.problems import NotOnRecord
from api.routes.bodies import engine
from api.routes.contract import Doors, question
from api.routes.doorkeeper import caller, needs
from api.routes.lists import LINKED, asked_part, list_answer, listing
from api.routes.questions import asked
from schemas.answers import NewerSubmissionSchema, QuarantineSchema

QUARANTINE = Doors(
    "quarantine", __name__, url_prefix="/v1/quarantine", description="Submissions in a schema not known yet"
)


@QUARANTINE.route("")
class Waiting(MethodView):
    """What waits."""

    @needs("read")
    @listing("site", "schema")
    @QUARANTINE.response(200, QuarantineSchema, headers=LINKED)
    def get(self) -> Response:
        """List the submissions that wait for a program that knows their schema, in order of arrival."""
        where, part = asked_part("site", "schema")
        with reading(engine()) as connection:
            found = quarantine_listed(connection, part, **where)
        return list_answer(found)


@QUARANTINE.route("/<uuid:calibration_id>")
class One(MethodView):
    """One of them."""

    @needs("read")
    @question("site")
    @QUARANTINE.response(200, NewerSubmissionSchema)
    def get(self, calibration_id: uuid.UUID) -> Response:
        """Read the bytes that were sent, taken up since or not."""
        site = asked("site").get("site")
        with reading(engine()) as connection:
            kept = in_quarantine(connection, str(calibration_id))
        found = [one for one in kept if caller().may_see(one.told.site) and site in (None, one.told.site)]
        if len(found) != 1:
            said = f"{len(found)} sites have {calibration_id} in quarantine; say which with site=."
            raise NotOnRecord(said if found else "It is not in quarantine.", calibration=str(calibration_id))
        headers = {"Steelyard-Digest": found[0].told.digest}
        return Response(found[0].body, content_type="application/json", headers=headers)
