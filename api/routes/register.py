"""The register: put an entity on it or change it, read it in force on a day or as known at log entry N, list it."""

from dataclasses import replace
from datetime import date
from typing import Any

from flask import Response
from flask.views import MethodView
from sqlalchemy import Connection

from api.actions.change_register import change_register
from api.answers.register_notes import noted
from api.database import reading, unit_of_work
from api.keeping.register_change import ANY_REVISION, RegisterChange
from api.keeping.unread_fields import SENDER_NOT_READ
from api.queries.register import all_in_force, in_force, revisions_in_sight
from api.records.documents import document_of
from api.records.listing import part_of
from api.records.merge_patch import merged_with
from api.records.problems import NotOnRecord
from api.records.register import KINDS, EntityKind, RegisterNote, Revision
from api.routes.bodies import MERGE_PATCH, answer, engine, json_body, now, unread_fields
from api.routes.contract import Doors, question
from api.routes.doorkeeper import caller, needs
from api.routes.lists import LINKED, asked_part, list_answer, listing
from api.routes.preconditions import IF_MATCH, IF_NONE_MATCH, against, tagged
from api.routes.questions import asked, today
from api.routes.register_lists import filters_of, register_part
from schemas.register import ChangeAsked, change_from, change_shape, revision_shape, revisions_shape

PATCH: dict[str, Any] = {"required": True, "content": {MERGE_PATCH: {
    "schema": {"type": "object", "properties": {
        "valid_from": {"type": "string", "format": "date", "description": "From which day; today where left out."},
        "record": {"type": "object", "description": "What is to change: null takes a field away, a list comes whole."},
    }},
    "example": {"valid_from": "2026-11-26", "record": {}},
}}}  # fmt: skip


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
        @doors.doc(parameters=[IF_MATCH, IF_NONE_MATCH])
        @doors.arguments(change_shape(kind))
        @doors.response(200, revision_shape(kind))
        @doors.alt_response(201, schema=revision_shape(kind))
        def put(self, change: ChangeAsked, key: str) -> Response:
            """Put it on the register, or change it from a day on: always a new revision, never an overwrite."""
            asked()
            wanted = RegisterChange(kind.name, key, change.valid_from, change.record, caller().code, now(), against())
            revision, new = unit_of_work(engine(), lambda connection: _changed(connection, wanted))
            return _answered(revision, revision.number, 201 if new and revision.number == 1 else 200)

        @needs("administer")
        @doors.doc(parameters=[IF_MATCH], requestBody=PATCH)
        @doors.response(200, revision_shape(kind))
        def patch(self, key: str) -> Response:
            """Change some of it from a day on, by a merge patch of `{"valid_from", "record"}`: always a new revision.

            What is patched is what holds on `valid_from`, today where that is left out. One that changes nothing makes none.
            """
            asked()
            patch = json_body(MERGE_PATCH)
            revision, _ = unit_of_work(engine(), lambda connection: _patched(connection, kind, key, patch))
            return _answered(revision, revision.number)

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


def _patched(connection: Connection, kind: EntityKind, key: str, patch: Any) -> tuple[Revision[Any], bool]:
    """What is changed by a patch of what holds on its day: read and changed in one transaction, against what was read."""
    on = _day_of(patch) or today()
    held = in_force(connection, kind.name, key, on=on)
    document = {"valid_from": on.isoformat(), "record": document_of(held.record)}
    asked_for = change_from(kind, merged_with(document, patch))
    unchanged = asked_for.record == held.record and not (isinstance(patch, dict) and "valid_from" in patch)
    newest = revisions_in_sight(connection, kind.name, key)[-1].number
    return _changed(connection, RegisterChange(
        kind.name, key, held.valid_from if unchanged else asked_for.valid_from, asked_for.record, caller().code, now(),
        frozenset([newest]) if ANY_REVISION in against() else against(), held.number,
    ))  # fmt: skip


def _day_of(patch: Any) -> date | None:
    try:
        return date.fromisoformat(patch["valid_from"])
    except (KeyError, TypeError, ValueError):
        return None  # told when the whole is read


def _answered(revision: Revision[Any], newest: int, status: int = 200) -> Response:
    """The ETag names the newest revision, whichever is in force on the day asked: a change is made against it."""
    return tagged(answer(revision, status, **{"Accept-Patch": MERGE_PATCH}), newest)


REGISTER = [register_blueprint(kind) for kind in KINDS]
