"""What persons do to a calibration after it was kept: review, release, amend, void, link. Never an edit, never a delete."""

import uuid
from collections.abc import Callable
from typing import Any, Final

from flask import Response, g, request
from flask.views import MethodView
from sqlalchemy import Connection

from api.actions.amend_calibration import amend_calibration
from api.actions.close_duplicate import close_duplicate
from api.actions.link_calibration import link_calibration
from api.actions.release_calibration import release_calibration
from api.actions.remark_on_calibration import remark_on_calibration
from api.actions.void_calibration import void_calibration
from api.database import reading, unit_of_work
from api.keeping.record_in_hand import Act
from api.queries.calibrations import calibration
from api.records.life import Acted, AmendmentAsked, DuplicateAsked, LinkAsked, ReleaseAsked, RemarkAsked, VoidAsked
from api.routes.bodies import answer, engine, now
from api.routes.contract import Doors, question
from api.routes.doorkeeper import caller, needs, person
from api.routes.example_visit import CALIBRATION, DIGEST
from api.routes.questions import asked
from api.routes.receiving import SENT_HEADERS, arrived_now
from schemas.answers import ActedSchema, ReceiptSchema
from schemas.json_members import member_bytes
from schemas.wire_shape import wire_shape

LIFE = Doors("life", __name__, url_prefix="/v1/calibrations/<uuid:calibration_id>", description="The life of a record")
ANOTHER: Final = "0193f0aa-0000-7000-8000-0000000000f1"  # the other record of a visit, in the examples
EXAMPLES: Final[dict[str, dict[str, Any]]] = {
    "review": {"words": "Held back: the reading at 50 kg has to be compared with the sheet."},
    "release": {
        "digest": DIGEST, "judgement": 1,
        "answers": [
            {"code": "too-few-loads", "words": "A check at one load was asked for; it claims nothing beyond."},
            {"code": "test-missing", "words": "The ward needed the room; the scheduled visit follows next week."},
        ],
    },
    "void": {"because": "It was sent about the wrong scale; the right one has a record of its own."},
    "duplicate": {
        "of": ANOTHER, "same_visit": False, "because": "The second pass after the castors were locked; it has its own sheet.",
    },
    "links": {
        "kind": "device", "as_sent": "A-4", "key": "A-04", "because": "The zero was left out when the tag was typed.",
    },
}  # fmt: skip
AMENDMENT: Final = {
    "supersedes": DIGEST, "because": "What had been seen was left out.",
    "content": CALIBRATION | {"remarks": "One foot stood on a cable; it was moved before the first reading."},
}  # fmt: skip


def _act(calibration_id: uuid.UUID) -> Act:
    """What a person does now, to a record that they have in sight and may act on."""
    where = asked("site")
    with reading(engine()) as connection:
        found = calibration(connection, str(calibration_id), where.get("site"))
    caller().check_own(found.site)
    return Act(found.site, found.calibration, person(), now(), request.get_data())


def _done(calibration_id: uuid.UUID, act_on: Callable[[Connection, Act, Any], Acted], said: Any) -> Response:
    act = _act(calibration_id)
    return answer(unit_of_work(engine(), lambda connection: act_on(connection, act, said)))


@LIFE.route("/review")
class Review(MethodView):
    """A reviewer's remark."""

    @needs("release")
    @question("site")
    @LIFE.arguments(wire_shape(RemarkAsked), example=EXAMPLES["review"])
    @LIFE.response(200, ActedSchema)
    def post(self, said: RemarkAsked, calibration_id: uuid.UUID) -> Response:
        """Leave a remark that everybody sees, and release nothing: the record is held back for more."""
        return _done(calibration_id, remark_on_calibration, said)


@LIFE.route("/release")
class Release(MethodView):
    """A person's word that a record is right."""

    @needs("release")
    @question("site")
    @LIFE.arguments(wire_shape(ReleaseAsked), example=EXAMPLES["release"])
    @LIFE.response(200, ActedSchema)
    @LIFE.alt_response(409, "CONFLICT")
    def post(self, said: ReleaseAsked, calibration_id: uuid.UUID) -> Response:
        """Release the newest revision of a record: by a person who did not make the visit, every flag closed in words.

        A certificate is issued where something was measured; for an amendment it is the next revision of the certificate,
        and what it amends is superseded from then on. Again changes nothing.
        """
        return _done(calibration_id, release_calibration, said)


@LIFE.route("/void")
class Void(MethodView):
    """The end of a record."""

    @needs("amend")
    @question("site")
    @LIFE.arguments(wire_shape(VoidAsked), example=EXAMPLES["void"])
    @LIFE.response(200, ActedSchema)
    def post(self, said: VoidAsked, calibration_id: uuid.UUID) -> Response:
        """Make a record void: it speaks for nothing from now on, its certificate is withdrawn, nothing is deleted."""
        return _done(calibration_id, void_calibration, said)


@LIFE.route("/duplicate")
class Duplicate(MethodView):
    """A visit that may have been sent twice."""

    @needs("amend")
    @question("site")
    @LIFE.arguments(wire_shape(DuplicateAsked), example=EXAMPLES["duplicate"])
    @LIFE.response(200, ActedSchema)
    @LIFE.alt_response(409, "CONFLICT")
    def post(self, said: DuplicateAsked, calibration_id: uuid.UUID) -> Response:
        """Close a possible duplicate: it is the same visit as the other one, and void from now on; or it is not.

        What is not a double keeps standing as it does, its flag closed by these words; a release needs no others for it.
        """
        return _done(calibration_id, close_duplicate, said)


@LIFE.route("/links")
class Links(MethodView):
    """Codes that the register got later."""

    @needs("amend")
    @question("site")
    @LIFE.arguments(wire_shape(LinkAsked), example=EXAMPLES["links"])
    @LIFE.response(200, ActedSchema)
    @LIFE.alt_response(409, "CONFLICT")
    def post(self, said: LinkAsked, calibration_id: uuid.UUID) -> Response:
        """Link a code that was not known to what the register has for it since; the record is judged again beside."""
        return _done(calibration_id, link_calibration, said)


@LIFE.route("/amendments")
class Amendments(MethodView):
    """Corrections of a record."""

    @needs("amend")
    @question("site")
    @LIFE.doc(parameters=SENT_HEADERS[:1])
    @LIFE.arguments(wire_shape(AmendmentAsked))
    @LIFE.response(201, ReceiptSchema)
    @LIFE.alt_response(200, schema=ReceiptSchema)
    @LIFE.alt_response(409, "CONFLICT")
    def post(self, said: AmendmentAsked, calibration_id: uuid.UUID) -> Response:
        """Amend a record: the whole content as it should have been, why, and the digest of the content it supersedes.

        201 kept as the next revision, judged anew, provisional until a person releases it; 200 kept before.
        """
        act = _act(calibration_id)
        arrived = arrived_now(act.calibration, member_bytes(act.body, "content"), g.content["content"], act.by_whom)
        receipt = unit_of_work(engine(), lambda connection: amend_calibration(connection, arrived, act.site, said))
        where = f"/v1/calibrations/{act.calibration}?site={act.site}&revision={receipt.revision}"
        return answer(receipt, 200 if receipt.replayed else 201, Location=where)
