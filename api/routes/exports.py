"""Exports of everything: asked for, looked at while a worker makes them, fetched whole or in ranges.

An export holds what whoever asks may see: a key for some sites gets those, and no other sees what it got.
"""

import uuid
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated, Any

from flask import Response, request
from flask.views import MethodView
from sqlalchemy import Connection

from api.actions.ask_for_job import ask_for_job
from api.actions.begin_export import ExportBegun, begin_export
from api.database import reading, unit_of_work
from api.exchange.export_segments import unpacked_segments
from api.exchange.zip_stream import archive_of
from api.metrology.terms import Code, Many, Whole
from api.queries.exports import export_run, exports, pieces_of_file
from api.queries.log import head
from api.records.caller import Caller
from api.records.export import ExportAsked, ExportRun, FileExport
from api.records.listing import Place, part_of
from api.records.problems import ExportNotReady, NotOnRecord
from api.routes.bodies import answer, engine, now
from api.routes.contract import Doors
from api.routes.doorkeeper import caller, needs
from api.routes.lists import LINKED, asked_part, list_answer, listing
from api.routes.questions import asked
from schemas.answers import ExportSchema, ExportsSchema
from schemas.wire_shape import wire_shape

EXPORTS = Doors("exports", __name__, url_prefix="/v1/exports", description="Everything on record, as files")
MEDIA_TYPES = {
    "csv": "text/csv; charset=utf-8; header=present", "json": "application/json", "ndjson": "application/x-ndjson",
}  # fmt: skip
_BYTES: dict[str, Any] = {"type": "string", "format": "binary"}
_RANGE = [
    {"in": "header", "name": "Range", "schema": {"type": "string"}, "required": False,
     "description": "Only these bytes (RFC 9110 section 14.2), to go on with what was cut off: bytes=1048576-"},
]  # fmt: skip


def _fetched(*media_types: str) -> dict[str, Any]:
    """How the contract describes bytes that can be fetched whole or in ranges."""
    content = {media_type: {"schema": _BYTES if media_type == "application/zip" else {}} for media_type in media_types}
    told = {"200": "Its bytes", "206": "The bytes that Range asked for"}
    return {
        "parameters": _RANGE,
        "responses": {status: {"description": said, "content": content} for status, said in told.items()},
    }


@dataclass(frozen=True, slots=True)
class ExportWanted:
    """What is to be exported: what was written after a log entry (0: from the first on), of some sites; of all where left
    out."""

    since: Whole
    sites: Annotated[tuple[Code, ...], Many(200, 1)] | None = None


def _place(told: FileExport) -> Place:
    return told.asked_at.isoformat(), told.file_export


@EXPORTS.route("")
class Everything(MethodView):
    """All exports."""

    @needs("administer")
    @listing()
    @EXPORTS.response(200, ExportsSchema, headers=LINKED)
    def get(self) -> Response:
        """List the exports that are kept, the newest first."""
        _, part = asked_part()
        with reading(engine()) as connection:
            found = [told for told in exports(connection) if _is_seen(told)]
        return list_answer(part_of(found, _place, part, falling=True))

    @needs("administer")
    @EXPORTS.arguments(wire_shape(ExportWanted))
    @EXPORTS.response(202, ExportSchema)
    def post(self, wanted: ExportWanted) -> Response:
        """Ask for an export of everything up to now; a worker makes it, look at the address in Location."""
        asked()
        sites = _sites(wanted, caller())
        return _told(unit_of_work(engine(), lambda connection: _begun(connection, wanted.since, sites)), 202)


def _sites(wanted: ExportWanted, who: Caller) -> tuple[str, ...] | None:
    """The sites asked for, each one of the caller's; all of the caller's where none is named."""
    if wanted.sites is None:
        return None if who.sites is None else tuple(sorted(who.sites))
    for site in wanted.sites:
        who.check_own(site)
    return tuple(sorted(set(wanted.sites)))


def _begun(connection: Connection, since: int, sites: tuple[str, ...] | None) -> FileExport:
    name, who, moment = str(uuid.uuid4()), caller().code, now()
    job = ask_for_job(connection, "export", {"export": name}, by_whom=who, moment=moment)
    what = ExportAsked(since, head(connection).number, sites)
    return begin_export(connection, ExportBegun(name, job.job, what, who, moment))


@EXPORTS.route("/<export_id>")
class One(MethodView):
    """One export."""

    @needs("administer")
    @EXPORTS.response(200, ExportSchema)
    def get(self, export_id: str) -> Response:
        """Read how far an export is, and the files it comes to."""
        asked()
        return _told(_seen(export_id).told)


@EXPORTS.route("/<export_id>/archive.zip")
class Archive(MethodView):
    """All files in one."""

    @needs("administer")
    @EXPORTS.doc(**_fetched("application/zip"))
    def get(self, export_id: str) -> Response:
        """Fetch the archive of all files, whole or in ranges; Steelyard-Digest is its SHA-256."""
        asked()
        found, on = _made(export_id), engine()
        content = archive_of(found.files, lambda place: pieces_of_file(on, export_id, place))
        told = found.told
        return _sent(content, told.size or 0, told.digest or "", "application/zip", f"steelyard-{told.log_number}.zip")


@EXPORTS.route("/<export_id>/files/<path:path>")
class File(MethodView):
    """One file."""

    @needs("administer")
    @EXPORTS.doc(**_fetched(*(found.partition(";")[0] for found in MEDIA_TYPES.values())))
    def get(self, export_id: str, path: str) -> Response:
        """Fetch one file of an export, whole or in ranges; Steelyard-Digest is its SHA-256."""
        asked()
        found = _made(export_id)
        place = next((place for place, file in enumerate(found.files) if file.path == path), None)
        if place is None:
            raise NotOnRecord(f"The export has no file {path!r}.", path=path)
        file, ending = found.files[place], path.rpartition(".")[2]
        content = unpacked_segments(pieces_of_file(engine(), export_id, place))
        return _sent(content, file.size, file.digest, MEDIA_TYPES[ending], path.rpartition("/")[2])


def _seen(export_id: str) -> ExportRun:
    """The export, if it is the caller's to see; another's is refused like one that there is not."""
    with reading(engine()) as connection:
        found = export_run(connection, export_id)
    if not _is_seen(found.told):
        raise NotOnRecord(f"No export {export_id!r} was asked for, or its time is over.", file_export=export_id)
    return found


def _is_seen(found: FileExport) -> bool:
    who = caller()
    return who.sites is None or (found.sites is not None and all(map(who.may_see, found.sites)))


def _made(export_id: str) -> ExportRun:
    found = _seen(export_id)
    told = found.told
    if told.digest is None:
        raise ExportNotReady(
            f"The export's job is {told.state}; only one that is done can be fetched.", state=told.state
        )
    return found


def _told(found: FileExport, status: int = 200) -> Response:
    told = answer(found, status, Location=f"/v1/exports/{found.file_export}")
    if found.is_unfinished:
        told.headers["Retry-After"] = "2"
    return told


def _sent(content: Iterator[bytes], size: int, digest: str, content_type: str, name: str) -> Response:
    """A file that never changes: its digest is its tag, and a range of it can be asked for."""
    headers = {"Content-Disposition": f'attachment; filename="{name}"', "Steelyard-Digest": digest}
    told = Response(content, headers=headers, content_type=content_type)
    told.content_length = size
    told.set_etag(digest.removeprefix("sha256:"))
    told.make_conditional(request, accept_ranges=True, complete_length=size)
    return told
