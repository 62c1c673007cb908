"""What a person tells of a device: moved, in another state, limited, sent for repair or back. Each makes an event."""

from collections.abc import Callable
from typing import Any

from flask import Response
from flask.views import MethodView
from sqlalchemy import Connection

from api.actions.change_state import change_state
from api.actions.limit_device import limit_device
from api.actions.move_device import move_device
from api.actions.record_repair import record_repair
from api.database import unit_of_work
from api.keeping.content import Arrived
from api.records.device_event import EventReceipt
from api.records.event_sent import DeviceMove, Repair, StateChange, WrittenLimit
from api.routes.bodies import engine
from api.routes.contract import Doors
from api.routes.doorkeeper import caller, needs, person
from api.routes.event_examples import LIMIT, MOVE, REPAIR, STATE
from api.routes.events import event_arrived, receipt_answer
from api.routes.questions import asked
from api.routes.receiving import SENT_HEADERS
from schemas.events import EventReceiptSchema, LimitSchema, MoveSchema, RepairSchema, StateSchema

ACTS = Doors("device acts", __name__, url_prefix="/v1/devices/<tag>", description="What a person tells of a device")


def _done(act: Callable[[Connection, Arrived, Any, str], EventReceipt], sent: Any, tag: str) -> Response:
    asked()
    arrived = event_arrived(sent.id.lower(), person())
    return receipt_answer(unit_of_work(engine(), lambda connection: act(connection, arrived, sent, tag)))


@ACTS.route("/moves")
class Moves(MethodView):
    """Moves of a device."""

    @needs("amend")
    @ACTS.doc(parameters=SENT_HEADERS)
    @ACTS.arguments(MoveSchema, example=MOVE)
    @ACTS.response(201, EventReceiptSchema)
    @ACTS.alt_response(200, schema=EventReceiptSchema)
    @ACTS.alt_response(409, "CONFLICT")
    def post(self, sent: DeviceMove, tag: str) -> Response:
        """Move a device to a site, ward and place from a moment on. It is not to be used before it is calibrated there.

        The register has it there from that day on, however late it is told. The same id again is answered as the first time.
        """
        caller().check_own(sent.site)
        return _done(move_device, sent, tag)


@ACTS.route("/states")
class States(MethodView):
    """States of a device."""

    @needs("amend")
    @ACTS.doc(parameters=SENT_HEADERS)
    @ACTS.arguments(StateSchema, example=STATE)
    @ACTS.response(201, EventReceiptSchema)
    @ACTS.alt_response(200, schema=EventReceiptSchema)
    @ACTS.alt_response(409, "CONFLICT")
    def post(self, sent: StateChange, tag: str) -> Response:
        """Put a device into another state from a moment on, with the reason. A limit it had goes with the state it had.

        It closes nothing that is open. Retired is for good.
        """
        return _done(change_state, sent, tag)


@ACTS.route("/limits")
class Limits(MethodView):
    """Limits of a device."""

    @needs("amend")
    @ACTS.doc(parameters=SENT_HEADERS)
    @ACTS.arguments(LimitSchema, example=LIMIT)
    @ACTS.response(201, EventReceiptSchema)
    @ACTS.alt_response(200, schema=EventReceiptSchema)
    @ACTS.alt_response(409, "CONFLICT")
    def post(self, sent: WrittenLimit, tag: str) -> Response:
        """Limit a device in writing: up to which load it may be used, until which day at the latest, and why.

        Its state is limited then, whatever it was. It closes nothing that is open.
        """
        return _done(limit_device, sent, tag)


@ACTS.route("/repairs")
class Repairs(MethodView):
    """Repairs of a device."""

    @needs("amend")
    @ACTS.doc(parameters=SENT_HEADERS)
    @ACTS.arguments(RepairSchema, example=REPAIR)
    @ACTS.response(201, EventReceiptSchema)
    @ACTS.alt_response(200, schema=EventReceiptSchema)
    @ACTS.alt_response(409, "CONFLICT")
    def post(self, sent: Repair, tag: str) -> Response:
        """Tell that a device was sent for repair, or came back, what was done, and whether a seal was broken.

        It stays open until a released calibration after it leaves the device within tolerance.
        """
        return _done(record_repair, sent, tag)
