"""Files of old records: received, tried out, committed, given up, undone; what came of their rows; what a file may look like.

The work itself is a job's: here a file is taken in and a person's word is passed on.
"""

import hashlib
import tempfile
import uuid
from collections.abc import Iterable, Iterator
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
from api.exchange.report import report_lines, table_report
from api.exchange.report_page import report_page
from api.exchange.template import table_schema, template_csv, template_profile
from api.keeping.standing import Word
from api.metrology.terms import Written
from api.queries.imports import import_run, imports, pieces_of, rows_told
from api.queries.register import in_force
from api.records.file_import import FileImport, ImportRun, RowTold
from api.records.import_faults import file_refused
from api.records.import_profile import ImportProfile
from api.records.listing import part_of
from api.records.problems import NotOnRecord, PreconditionRequired
from api.routes.bodies import answer, engine, now
from api.routes.contract import Doors, question
from api.routes.doorkeeper import caller, needs
from api.routes.lists import LINKED, asked_part, list_answer, listing
from api.routes.questions import asked, today
from api.routes.site import guarded
from schemas.answers import ImportSchema, ImportsSchema, TableSchemaSchema
from schemas.wire_shape import wire_shape

IMPORTS = Doors("imports", __name__, url_prefix="/v1/imports", description="Files of old records")
PIECE = 1024 * 1024
_FILE = {
    media_type: {"schema": {"type": "string", "format": "binary"}}
    for media_type in ("text/csv", "application/x-ndjson")
}
_TEXT = {"type": "string"}
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
        return _told(_seen(import_id).told)


@IMPORTS.route("/<import_id>/try")
class TryAgain(MethodView):
    """Another trial."""

    @needs("import")
    @question("profile")
    @IMPORTS.response(202, ImportSchema)
    def post(self, import_id: str) -> Response:
        """Try a file out again: by the newest revision of its profile, or by another profile."""
        where = asked("profile")
        run = _seen(import_id)
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
        _seen(import_id)
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
        _seen(import_id)
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
        _seen(import_id)
        word = Word(caller().code, now(), said.because)
        return _told(unit_of_work(engine(), lambda connection: undo_import(connection, import_id, word)))


def _asked_job(connection: Any, import_id: str, who: str) -> str:
    return ask_for_job(connection, "import", {"import": import_id}, by_whom=who, moment=now()).job


def _seen(import_id: str) -> ImportRun:
    """The import, if it is the caller's to see; another's is refused like one that there is not."""
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


@IMPORTS.route("/<import_id>/report.csv")
class ReportTable(MethodView):
    """What came of each row, as a table."""

    @needs("import")
    @IMPORTS.response(200, _TEXT, content_type="text/csv")
    def get(self, import_id: str) -> Response:
        """Read the file itself with columns before it that say what came of each row; it can be mended and sent again."""
        asked()
        run, told = _reported(import_id)
        lines = table_report(pieces_of(engine(), run.told.file_import), run.settled, told)
        return _file(lines, "text/csv; header=present", "report.csv")


@IMPORTS.route("/<import_id>/report.ndjson")
class ReportLines(MethodView):
    """What came of each row, for programs."""

    @needs("import")
    @IMPORTS.response(200, _TEXT, content_type="application/x-ndjson")
    def get(self, import_id: str) -> Response:
        """Read what came of each row, a line of JSON each."""
        asked()
        return _file(report_lines(_reported(import_id)[1]), "application/x-ndjson", "report.ndjson")


@IMPORTS.route("/<import_id>/report.html")
class ReportPage(MethodView):
    """What came of each row, as a page."""

    @needs("import")
    @IMPORTS.response(200, _TEXT, content_type="text/html")
    def get(self, import_id: str) -> Response:
        """Read a page that says what came of the rows: totals, faults by code, and the first of them in full."""
        asked()
        run, told = _reported(import_id)
        return guarded(Response(report_page(run.told, told), content_type="text/html; charset=utf-8"))


def _reported(import_id: str) -> tuple[ImportRun, list[RowTold]]:
    """An import and what came of its rows at the last going through the file."""
    run = _seen(import_id)
    with reading(engine()) as connection:
        return run, list(rows_told(connection, run.told.file_import, run.attempt))


@IMPORTS.route("/template.csv")
class Template(MethodView):
    """What a file may look like."""

    @needs("public")
    @question("layout")
    @IMPORTS.doc(
        responses={"200": {"description": "The template", "content": {"text/csv": {"schema": {"type": "string"}}}}}
    )
    def get(self) -> Response:
        """Read a template to fill in: one reading a row, or one visit a row."""
        layout = asked("layout").get("layout", "reading")
        return _file([template_csv(layout)], "text/csv; charset=utf-8; header=present", f"template-{layout}.csv")


@IMPORTS.route("/schema.json")
class TableSchema(MethodView):
    """What a file may hold, for programs."""

    @needs("public")
    @question("layout")
    @IMPORTS.response(200, TableSchemaSchema)
    def get(self) -> Response:
        """Read the Table Schema of a template (Data Package 2.0)."""
        return answer(table_schema(asked("layout").get("layout", "reading")))


@IMPORTS.route("/profile.json")
class TemplateProfile(MethodView):
    """How a template is read."""

    @needs("public")
    @question("layout")
    @IMPORTS.response(200, wire_shape(ImportProfile))
    def get(self) -> Response:
        """Read the import profile that reads a template as it is; put it on the register under a code of your own."""
        return answer(template_profile(asked("layout").get("layout", "reading")))


def _file(lines: Iterable[str] | Iterable[bytes], content_type: str, name: str) -> Response:
    headers = {"Content-Disposition": f'attachment; filename="{name}"'}
    return Response(lines, headers=headers, content_type=content_type)
