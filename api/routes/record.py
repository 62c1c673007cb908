"""The record as a whole: certificates as stored, and what answers here."""

from typing import Any

from flask import Response, current_app
from flask.views import MethodView

from api.database import reading
from api.keeping.judge_on_file import PROGRAM
from api.queries.certificates import certificate, revisions_of
from api.queries.log import head
from api.records.calibration import CertificateRevision
from api.records.listing import part_of
from api.routes.bodies import answer, engine
from api.routes.contract import Doors, question
from api.routes.doorkeeper import needs
from api.routes.lists import LINKED, asked_part, list_answer, listing
from api.routes.preconditions import tagged
from api.routes.questions import asked
from schemas.answers import AboutSchema, CertificateRevisionsSchema, CertificateSchema

RECORD = Doors("record", __name__, url_prefix="/v1", description="Certificates and the log")


@RECORD.route("/certificates/<certificate_number>")
class Certificate(MethodView):
    """A certificate."""

    @needs("read")
    @question("revision")
    @RECORD.response(200, CertificateSchema)
    def get(self, certificate_number: str) -> Response:
        """Read a certificate: exactly the bytes that were stored when it was issued, of the newest revision or of another.

        What became of it since is not in the bytes: Steelyard-State says in force, superseded or withdrawn.
        """
        wanted = asked("revision").get("revision")
        with reading(engine()) as connection:
            found = certificate(connection, certificate_number, wanted)
        headers = {"Steelyard-Digest": found.digest, "Steelyard-State": found.state}
        return tagged(Response(found.document, headers=headers, content_type="application/json"), found.revision)


@RECORD.route("/certificates/<certificate_number>/revisions")
class CertificateRevisions(MethodView):
    """All revisions of a certificate."""

    @needs("read")
    @listing()
    @RECORD.response(200, CertificateRevisionsSchema, headers=LINKED)
    def get(self, certificate_number: str) -> Response:
        """List every revision of a certificate with what became of it, and why: superseded by the next, or withdrawn."""
        _, part = asked_part()
        with reading(engine()) as connection:
            certificate(connection, certificate_number)
            found = part_of(revisions_of(connection, certificate_number), lambda one: (one.revision,), part)
        return list_answer(found.of(_told), number=certificate_number)


def _told(one: Any) -> dict[str, Any]:
    return {name: getattr(one, name) for name in CertificateRevision.__annotations__}


@RECORD.route("/about")
class About(MethodView):
    """What answers here."""

    @needs("read")
    @RECORD.response(200, AboutSchema)
    def get(self) -> Response:
        """Say which program answers, how far its log is, and how many requests it has served since it started."""
        asked()
        with reading(engine()) as connection:
            newest = head(connection).number
        served = current_app.extensions["steelyard.served"]
        about = {
            "program": PROGRAM, "database": engine().dialect.name, "log_number": newest, "requests_served": served.count,
        }  # fmt: skip
        return answer(about)
