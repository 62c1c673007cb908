"""Answers about a device: its history, whether it may be used, when it is due."""

from flask import Response
from flask.views import MethodView

from api.answers.corners import corners_of_device
from api.answers.due import due_list, due_place
from api.answers.local_day import local_day
from api.answers.may_i_use import use_of
from api.answers.nearest import instead_of
from api.answers.plan import plan_for
from api.answers.weighing import weighing_of
from api.database import reading
from api.queries.calibration_lists import visits_in_sight
from api.queries.devices import tags_of
from api.queries.register import in_force
from api.records.listing import Part, part_of
from api.records.plan import PlanAsked
from api.routes.bodies import answer, engine, now
from api.routes.contract import Doors, question
from api.routes.doorkeeper import needs
from api.routes.list_filters import VISIT_FILTERS
from api.routes.lists import LINKED, asked_part, list_answer, listing
from api.routes.questions import asked, today
from schemas.answers import (
    CornersSchema,
    DueListSchema,
    HistorySchema,
    InsteadSchema,
    PlanReadSchema,
    UseSchema,
    WeighingSchema,
)

DUE_FILTERS = ("site", "ward", "due.state", "within_days")
DEVICES = Doors("answers", __name__, url_prefix="/v1", description="Answers about devices")


@DEVICES.route("/devices/<tag>/history")
class History(MethodView):
    """Everything that was sent about a device."""

    @needs("read")
    @listing(*VISIT_FILTERS)
    @DEVICES.response(200, HistorySchema, headers=LINKED)
    def get(self, tag: str) -> Response:
        """Read every calibration and attempt of a device whole, newest visit first."""
        where, part = asked_part(*VISIT_FILTERS)
        with reading(engine()) as connection:
            tags = tags_of(connection, tag, on=today())
            found = visits_in_sight(connection, tags, where, part)
            if not found.items and not visits_in_sight(connection, tags, {}, Part(1)).items:
                in_force(connection, "device", tag, on=today())
        return list_answer(found, device=tag)


@DEVICES.route("/devices/<tag>/use")
class MayIUse(MethodView):
    """May I use it."""

    @needs("read")
    @question("on")
    @DEVICES.response(200, UseSchema)
    def get(self, tag: str) -> Response:
        """Answer whether a device may be used on a day (today where it stands), within which loads, until when, and why."""
        where = asked("on")
        with reading(engine()) as connection:
            found = use_of(connection, tag, on=where.get("on") or local_day(connection, tag, now()))
        return answer(found)


@DEVICES.route("/devices/<tag>/instead")
class Instead(MethodView):
    """What to use instead."""

    @needs("read")
    @question("on")
    @DEVICES.response(200, InsteadSchema)
    def get(self, tag: str) -> Response:
        """List the scales near by that may be used instead of a device: for the same, same ward first, then same site."""
        where = asked("on")
        with reading(engine()) as connection:
            found = instead_of(connection, tag, on=where.get("on") or local_day(connection, tag, now()))
        return answer({"device": tag, "items": found})


@DEVICES.route("/devices/<tag>/weighing")
class Weighing(MethodView):
    """What a weighing is worth."""

    @needs("read")
    @question("on", "reading")
    @DEVICES.response(200, WeighingSchema)
    def get(self, tag: str) -> Response:
        """Answer what a weighing is worth: the error expected, its uncertainty in use, what can be claimed; by reading."""
        where = asked("on", "reading")
        asked_for = where.get("reading")
        with reading(engine()) as connection:
            on = where.get("on") or local_day(connection, tag, now())
            found = weighing_of(connection, tag, on=on, reading_kg=asked_for.kg if asked_for else None)
        return answer(found)


@DEVICES.route("/devices/<tag>/corners")
class Corners(MethodView):
    """Which support is off."""

    @needs("read")
    @question("on")
    @DEVICES.response(200, CornersSchema)
    def get(self, tag: str) -> Response:
        """Answer which support the corner readings show to be off, by how much, and what a load off the middle would read."""
        where = asked("on")
        with reading(engine()) as connection:
            found = corners_of_device(connection, tag, on=where.get("on") or local_day(connection, tag, now()))
        return answer(found)


@DEVICES.route("/devices/<tag>/plan")
class PlanFor(MethodView):
    """What to do on it."""

    @needs("read")
    @question("on", "set", "technician", "largest_piece", "ward")
    @DEVICES.response(200, PlanReadSchema)
    @DEVICES.alt_response(422, "UNPROCESSABLE_ENTITY")
    def get(self, tag: str) -> Response:
        """Answer every step of a calibration on a day (today where it stands), with the pieces of a set in force then.

        No piece over the technician's own limit, or over the largest one asked for, is used. A scale in a magnet zone is
        planned for the ward where it will be tested.
        """
        where = asked("on", "set", "technician", "largest_piece", "ward")
        with reading(engine()) as connection:
            on = where.get("on") or local_day(connection, tag, now())
            names = "technician", "largest_piece", "ward"
            found = plan_for(
                connection, tag, PlanAsked(on, where.get("set"), *(where.get(name) for name in names))
            )  # fmt: skip
        return answer(found)


@DEVICES.route("/due")
class DueList(MethodView):
    """What is due."""

    @needs("read")
    @listing("on", *DUE_FILTERS)
    @DEVICES.response(200, DueListSchema, headers=LINKED)
    def get(self) -> Response:
        """List devices by their due date, the longest due first."""
        where, part = asked_part("on", *DUE_FILTERS)
        on = where.pop("on", today())
        with reading(engine()) as connection:
            found = due_list(connection, on=on, **where)
        return list_answer(part_of(found, due_place, part), on=on)
