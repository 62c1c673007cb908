"""The register: put an entity on it or change it, read it in force on a day or as known at log entry N, list it."""

import re
from dataclasses import replace
from typing import Any

from flask import Response, request
from flask.views import MethodView
from sqlalchemy import Connection

from api.actions.change_register import change_register
from api.answers.register_notes import noted
from api.database import reading, unit_of_work
from api.keeping.register_change import ANY_REVISION, RegisterChange
from api.keeping.unread_fields import SENDER_NOT_READ
from api.queries.register import all_in_force, in_force, revisions_in_sight
from api.records.listing import part_of
from api.records.problems import NotOnRecord, RevisionDiffers
from api.records.register import KINDS, EntityKind, RegisterNote, Revision
from api.routes.bodies import answer, engine, now, unread_fields
from api.routes.contract import Doors, question
from api.routes.doorkeeper import caller, needs
from api.routes.lists import LINKED, asked_part, list_answer, listing
from api.routes.questions import asked, today
from api.routes.register_lists import filters_of, register_part
from schemas.register import ChangeAsked, change_shape, revision_shape, revisions_shape

_ETAG = re.compile(r'"?([0-9]{1,9})"?')


def register_blueprint(kind: EntityKind) -> Doors:
    """Return the doors of one kind of entity."""
    filters = filters_of(kind)
    doors = Doors(kind.collection, __name__, url_prefix=f"/v1/{kind.collection}", description=f"Register: {kind.name}")

    @doors.route("")
    class Everything(MethodView):
        @needs("read")
        @listing("on", "known_at", *filters)
        @doors.response(200, revisions_shape(kind), headers=LINKED)
        def get(self) -> Response:
            """List what is in force on a day, as known at log entry N, by key."""
            where, part = asked_part("on", "known_at", *filters)
            with reading(engine()) as connection:
                on = where.get("on", today())
                held = all_in_force(connection, kind.name, on=on, known_at=where.get("known_at"))
                found = register_part(held, where, part).of(lambda revision: noted(connection, revision, on))
            return list_answer(found)

    @doors.route("/<key>")
    class One(MethodView):
        @needs("read")
        @question("on", "known_at")
        @doors.response(200, revision_shape(kind))
        def get(self, key: str) -> Response:
            """Read one, in force on a day, as known at log entry N."""
            where = asked("on", "known_at")
            with reading(engine()) as connection:
                on = where.get("on", today())
                found = noted(
                    connection, in_force(connection, kind.name, key, on=on, known_at=where.get("known_at")), on
                )
                newest = revisions_in_sight(connection, kind.name, key)[-1].number
            return _answered(found, newest)

        @needs("administer")
        @doors.arguments(change_shape(kind))
        @doors.response(200, revision_shape(kind))
        @doors.alt_response(201, schema=revision_shape(kind))
        def put(self, change: ChangeAsked, key: str) -> Response:
            """Put it on the register, or change it from a day on: always a new revision, never an overwrite."""
            asked()
            wanted = RegisterChange(kind.name, key, change.valid_from, change.record, caller().code, now(), _against())
            revision, new = unit_of_work(engine(), lambda connection: _changed(connection, wanted))
            return _answered(revision, revision.number, 201 if new and revision.number == 1 else 200)

    @doors.route("/<key>/revisions")
    class Revisions(MethodView):
        @needs("read")
        @listing("changed_after")
        @doors.response(200, revisions_shape(kind), headers=LINKED)
        def get(self, key: str) -> Response:
            """Read all revisions of one, oldest first."""
            where, part = asked_part("changed_after")
            with reading(engine()) as connection:
                chain = revisions_in_sight(connection, kind.name, key)
                if not chain:
                    raise NotOnRecord(f"No {kind.name} {key!r} was ever on the register.", kind=kind.name, key=key)
                asked_for = (r for r in chain if r.log_number > where.get("changed_after", 0))
                found = part_of(asked_for, lambda r: (r.number,), part).of(lambda r: noted(connection, r, r.valid_from))
            return list_answer(found)

    return doors


def _changed(connection: Connection, wanted: RegisterChange) -> tuple[Revision[Any], bool]:
    """What was changed, with its notes, and one on whoever sent it where that could not be read."""
    revision, new = change_register(connection, wanted)
    found = noted(connection, revision, wanted.valid_from)
    sender = [RegisterNote(n.code, n.sentence, n.facts) for n in unread_fields() if n is SENDER_NOT_READ]
    return replace(found, notes=(*found.notes, *sender)), new


def _answered(revision: Revision[Any], newest: int, status: int = 200) -> Response:
    """The ETag names the newest revision, whichever is in force on the day asked: a change is made against it."""
    return answer(revision, status, ETag=f'"{newest}"')


def _against() -> int | None:
    """The revision that If-Match names, if it names one; a star asks for any that is there (RFC 9110 13.1.1)."""
    tag = request.headers.get("If-Match")
    if tag is None:
        return None
    if tag.strip() == "*":
        return ANY_REVISION
    named = _ETAG.fullmatch(tag.strip())
    if named is None:
        raise RevisionDiffers(f'If-Match {tag[:40]!r} is not the ETag of a revision, for example "3".')
    return int(named[1])


REGISTER = [register_blueprint(kind) for kind in KINDS]
