"""Files of old records: received, tried out, committed, given up, undone. What came of their rows is `import_reports`'.

The work itself is a job's: here a file is taken in and a person's word is passed on.
"""

import hashlib
import tempfile
import uuid
from collections.abc import Iterator
from dataclasses import dataclass
from typing import IO, Annotated, Any

from flask import Response, request
from flask.views import MethodView

from api.actions.ask_for_job import ask_for_job
from api.actions.commit_import import commit_import
from api.actions.end_import import give_up_import, undo_import
from api.actions.receive_import import FileReceived, receive_import
from api.actions.try_import_again import try_import_again
from api.database import reading, unit_of_work
from api.exchange.packed import MOST_BYTES, unpacked
from api.keeping.standing import Word
from api.metrology.terms import Written
from api.queries.imports import import_run, imports
from api.queries.register import in_force
from api.records.file_import import FileImport, ImportRun
from api.records.import_faults import file_refused
from api.records.listing import part_of
from api.records.problems import NotOnRecord, PreconditionRequired
from api.routes.bodies import answer, engine, now
from api.routes.contract import Doors, question
from api.routes.doorkeeper import caller, needs
from api.routes.lists import LINKED, asked_part, list_answer, listing
from api.routes.questions import asked, today
from schemas.answers import ImportSchema, ImportsSchema
from schemas.wire_shape import wire_shape

IMPORTS = Doors("imports", __name__, url_prefix="/v1/imports", description="Files of old records")
PIECE = 1024 * 1024
_FILE = {
    media_type: {"schema": {"type": "string", "format": "binary"}}
    for media_type in ("text/csv", "application/x-ndjson")
}
_MATCH = [
    {"in": "header", "name": "If-Match", "schema": {"type": "string"}, "required": True,
     "description": "The ETag of the import as it was tried out; refused without it."},
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Because:
    """Why an import is given up or undone."""

    because: Annotated[str, Written(500, shortest=3)]


@IMPORTS.route("")
class Everything(MethodView):
    """All imports."""

    @needs("import")
    @listing("import.state", "profile")
    @IMPORTS.response(200, ImportsSchema, headers=LINKED)
    def get(self) -> Response:
        """List the files that were received, the newest first."""
        where, part = asked_part("import.state", "profile")
        with reading(engine()) as connection:
            seen = [run.told for run in imports(connection) if _is_seen(run)]
        found = (told for told in seen if all(getattr(told, name) == value for name, value in where.items()))
        return list_answer(
            part_of(found, lambda told: (told.asked_at.isoformat(), told.file_import), part, falling=True)
        )

    @needs("import")
    @question("profile", "mode", "reject_limit", "name")
    @IMPORTS.doc(requestBody={"content": _FILE, "required": True})
    @IMPORTS.response(202, ImportSchema)
    def post(self) -> Response:
        """Send a file of old records, CSV or NDJSON, plain or gzip. It is looked at and tried out; nothing is kept yet."""
        where = asked("profile", "mode", "reject_limit", "name")
        request.max_content_length = MOST_BYTES
        who, moment = caller(), now()
        with tempfile.TemporaryFile() as file, reading(engine()) as connection:
            profile = in_force(connection, "import profile", where.get("profile", ""), on=today())
            size, digest = _taken_in(file)
            received = FileReceived(
                str(uuid.uuid4()), where.get("name", "unnamed"), digest, size, profile.record, profile.number,
                where.get("mode", "all"), where.get("reject_limit", 0),
                None if who.sites is None else tuple(who.sites), who.code, moment,
            )  # fmt: skip
            connection.rollback()
            found = unit_of_work(engine(), lambda write: _received(write, received, file))
        return _told(found, 202)


def _taken_in(file: IO[bytes]) -> tuple[int, str]:
    """Write the body into a file, unpacked, and return its size and digest; refuses an empty one (`FileRefused`)."""
    digest = hashlib.sha256()
    for piece in unpacked(iter(lambda: request.stream.read(PIECE), b"")):
        digest.update(piece)
        file.write(piece)
    if not file.tell():
        raise file_refused("file-empty", "The file is empty.", "Send the file itself as the body.")
    return file.tell(), f"sha256:{digest.hexdigest()}"


def _received(connection: Any, received: FileReceived, file: IO[bytes]) -> FileImport:
    file.seek(0)
    job = ask_for_job(
        connection, "import", {"import": received.file_import}, by_whom=received.by_whom, moment=received.moment
    )
    pieces: Iterator[bytes] = iter(lambda: file.read(PIECE), b"")
    return receive_import(connection, received, pieces, job.job)


@IMPORTS.route("/<import_id>")
class One(MethodView):
    """One import."""

    @needs("import")
    @IMPORTS.response(200, ImportSchema)
    def get(self, import_id: str) -> Response:
        """Read how far an import is, what is still to be declared, and what would come or came of its rows."""
        asked()
        return _told(import_seen(import_id).told)


@IMPORTS.route("/<import_id>/try")
class TryAgain(MethodView):
    """Another trial."""

    @needs("import")
    @question("profile")
    @IMPORTS.response(202, ImportSchema)
    def post(self, import_id: str) -> Response:
        """Try a file out again: by the newest revision of its profile, or by another profile."""
        where = asked("profile")
        run = import_seen(import_id)
        with reading(engine()) as connection:
            profile = in_force(connection, "import profile", where.get("profile", run.told.profile), on=today())
        who = caller().code
        found = unit_of_work(
            engine(),
            lambda connection: try_import_again(
                connection, import_id, profile.record, profile.number, _asked_job(connection, import_id, who)
            ),
        )
        return _told(found, 202)


@IMPORTS.route("/<import_id>/commit")
class Commit(MethodView):
    """A person's word that an import is to be kept."""

    @needs("import")
    @IMPORTS.doc(parameters=_MATCH)
    @IMPORTS.response(202, ImportSchema)
    def post(self, import_id: str) -> Response:
        """Keep what was tried out: the same file, profile, rules and register, which the ETag in If-Match names."""
        asked()
        tag = request.headers.get("If-Match")
        if tag is None:
            raise PreconditionRequired("Send the ETag of the import as it was tried out in If-Match.")
        import_seen(import_id)
        who, moment = caller().code, now()
        found = unit_of_work(
            engine(),
            lambda connection: commit_import(
                connection, import_id, tag.strip().strip('"'), who, moment, _asked_job(connection, import_id, who)
            ),
        )
        return _told(found, 202)


@IMPORTS.route("/<import_id>/give-up")
class GiveUp(MethodView):
    """The end of an import that is not done."""

    @needs("import")
    @IMPORTS.arguments(wire_shape(Because))
    @IMPORTS.response(200, ImportSchema)
    def post(self, said: Because, import_id: str) -> Response:
        """Give an import up; what was kept of it so far is void."""
        asked()
        import_seen(import_id)
        word = Word(caller().code, now(), said.because)
        return _told(unit_of_work(engine(), lambda connection: give_up_import(connection, import_id, word)))


@IMPORTS.route("/<import_id>/undo")
class Undo(MethodView):
    """The undoing of an import that is done."""

    @needs("amend")
    @IMPORTS.arguments(wire_shape(Because))
    @IMPORTS.response(200, ImportSchema)
    def post(self, said: Because, import_id: str) -> Response:
        """Undo an import: every record of it is void, and none is deleted."""
        asked()
        import_seen(import_id)
        word = Word(caller().code, now(), said.because)
        return _told(unit_of_work(engine(), lambda connection: undo_import(connection, import_id, word)))


def _asked_job(connection: Any, import_id: str, who: str) -> str:
    return ask_for_job(connection, "import", {"import": import_id}, by_whom=who, moment=now()).job


def import_seen(import_id: str) -> ImportRun:
    """Return an import, if it is the caller's to see; another's is refused like one that there is not (`NotOnRecord`)."""
    with reading(engine()) as connection:
        run = import_run(connection, import_id)
    if not _is_seen(run):
        raise NotOnRecord(f"No file was received as the import {import_id!r}.", file_import=import_id)
    return run


def _is_seen(run: ImportRun) -> bool:
    who = caller()
    return who.sites is None or (run.sites is not None and all(map(who.may_see, run.sites)))


def _told(found: FileImport, status: int = 200) -> Response:
    told = answer(found, status, Location=f"/v1/imports/{found.file_import}")
    if found.etag is not None:
        told.headers["ETag"] = f'"{found.etag}"'
    if found.state in ("received", "committing"):
        told.headers["Retry-After"] = "2"
    return told
