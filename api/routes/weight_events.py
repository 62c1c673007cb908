"""The life of weights: what happened to them, told once under an id of its own, and whether they may be counted on."""

import uuid
from typing import Any

from flask import Response, g, request
from flask.views import MethodView

from api.actions.record_weight_event import record_weight_event
from api.actions.release_weight import release_weight
from api.answers.weight_life import life_of_set, life_of_weight
from api.database import reading, unit_of_work
from api.queries.weight_events import weight_event
from api.records.weight_event import WeightEventReceipt, WeightReleaseAsked
from api.routes.bodies import answer, engine, json_body
from api.routes.contract import Doors, question
from api.routes.doorkeeper import caller, needs
from api.routes.questions import asked, today
from api.routes.receiving import SENT_HEADERS, arrived_now
from schemas.answers import (
    WeightEventReceiptSchema,
    WeightEventSchema,
    WeightLifeSchema,
    WeightSetLifeSchema,
)
from schemas.weight_events import SHAPES, weight_event_of
from schemas.wire_shape import wire_shape

WEIGHT_EVENTS = Doors(
    "weight events", __name__, url_prefix="/v1", description="The life of weights between certificates"
)

_HEAD: dict[str, Any] = {"schema": "weight-event/1", "site": "QG", "by": "T-01"}
CHECKED_OUT = _HEAD | {
    "kind": "checked out", "happened_at": "2026-11-24T07:40:00-07:00", "weight_set": "FS-1",
    "pieces": ["FS1-20-01", "FS1-20-02", "FS1-10"], "round": "north wing, standing scales",
}  # fmt: skip
RELEASE = {
    "schema": "weight-release/1", "site": "QG", "happened_at": "2026-11-24T15:00:00-07:00", "piece": "FS1-10",
    "comparison": "0193f0aa-0000-7000-8000-0000000000d4", "reason": "agrees with FS1-5 and both 2 kg pieces",
}  # fmt: skip
EVENT = {"required": True, "content": {"application/json": {"schema": {"oneOf": list(SHAPES)}, "example": CHECKED_OUT}}}


@WEIGHT_EVENTS.route("/weight-events/<uuid:event_id>")
class Event(MethodView):
    """One event of weights."""

    @needs("submit")
    @WEIGHT_EVENTS.doc(parameters=SENT_HEADERS, requestBody=EVENT)
    @WEIGHT_EVENTS.response(201, WeightEventReceiptSchema)
    @WEIGHT_EVENTS.alt_response(200, schema=WeightEventReceiptSchema)
    @WEIGHT_EVENTS.alt_response(409, "CONFLICT")
    def put(self, event_id: uuid.UUID) -> Response:
        """Tell what happened to weights: 201 kept, 200 kept before (the same content), 409 other content under this id.

        Checked out, counted in, dropped, washed, damaged, compared, sent to or back from the laboratory. What is dropped,
        washed, damaged or compared out is held at once.
        """
        asked()
        sent = weight_event_of(json_body())
        caller().check_own(sent.site)
        arrived = arrived_now(str(event_id), request.get_data(), g.content)
        return _receipt(unit_of_work(engine(), lambda connection: record_weight_event(connection, arrived, sent)))

    @needs("read")
    @question("site")
    @WEIGHT_EVENTS.response(200, WeightEventSchema)
    def get(self, event_id: uuid.UUID) -> Response:
        """Read an event of weights, with its flags; a comparison with all that its verdict came from. Weights travel: every
        site reads it."""
        where = asked("site")
        with reading(engine()) as connection:
            found = weight_event(connection, str(event_id), where.get("site"))
        return answer(found)


@WEIGHT_EVENTS.route("/weight-releases/<uuid:event_id>")
class Release(MethodView):
    """The end of a hold."""

    @needs("amend")
    @WEIGHT_EVENTS.doc(parameters=SENT_HEADERS)
    @WEIGHT_EVENTS.arguments(wire_shape(WeightReleaseAsked), example=RELEASE)
    @WEIGHT_EVENTS.response(201, WeightEventReceiptSchema)
    @WEIGHT_EVENTS.alt_response(200, schema=WeightEventReceiptSchema)
    @WEIGHT_EVENTS.alt_response(409, "CONFLICT")
    def put(self, sent: WeightReleaseAsked, event_id: uuid.UUID) -> Response:
        """Release a piece that is held: by a person, on a comparison that agreed or a certificate made since."""
        asked()
        caller().check_own(sent.site)
        arrived = arrived_now(str(event_id), request.get_data(), g.content)
        return _receipt(unit_of_work(engine(), lambda connection: release_weight(connection, arrived, sent)))


@WEIGHT_EVENTS.route("/weights/<code>/life")
class OfWeight(MethodView):
    """May I use this piece."""

    @needs("read")
    @question("on")
    @WEIGHT_EVENTS.response(200, WeightLifeSchema)
    def get(self, code: str) -> Response:
        """Answer whether a piece may be counted on, on a day, why not, where it is, and what happened to it."""
        on = asked("on").get("on", today())
        with reading(engine()) as connection:
            found = life_of_weight(connection, code, on)
        return answer(found)


@WEIGHT_EVENTS.route("/weight-sets/<code>/life")
class OfSet(MethodView):
    """May I use this set."""

    @needs("read")
    @question("on")
    @WEIGHT_EVENTS.response(200, WeightSetLifeSchema)
    def get(self, code: str) -> Response:
        """Answer whether a set may be used on a day, each of its pieces, which are missing, and what happened to it."""
        on = asked("on").get("on", today())
        with reading(engine()) as connection:
            found = life_of_set(connection, code, on)
        return answer(found)


def _receipt(receipt: WeightEventReceipt) -> Response:
    location = f"/v1/weight-events/{receipt.event}?site={receipt.site}"
    return answer(receipt, 200 if receipt.replayed else 201, Location=location)
