"""An export begun and ended, whoever does it: as of which entry, and what its manifest says."""

from collections.abc import Callable, Sequence

from sqlalchemy import Connection, Engine

from api.cli.export_sources import Exporting, Rows, sources_of
from api.database import reading
from api.exchange.export_segments import Key, Source, Written
from api.exchange.manifest import PATH, manifest
from api.keeping.certificate import VERSION as CERTIFICATE_VERSION
from api.keeping.judge_on_file import PROGRAM
from api.queries.exported_tables import EXPORTED, LEFT_OUT
from api.queries.log import entries_after, head
from api.queries.log_span import LogSpan
from api.records.export import ExportAsked, FileExported
from api.records.log import LogEntry
from api.records.working import VERSION as JUDGEMENT_VERSION
from schemas.submission import VERSIONS

OF_THE_NETWORK = "It is the network's; this is an export of some sites."


def up_to_now(engine: Engine, since: int, sites: tuple[str, ...] | None) -> ExportAsked:
    """Return what is asked by who wants everything up to the newest entry."""
    with reading(engine) as connection:
        return ExportAsked(since, head(connection).number, sites)


def begun(engine: Engine, asked: ExportAsked) -> Exporting:
    """Return an export at work, as of the day of its last entry."""
    with reading(engine) as connection:
        last = _last(connection, asked)
    return Exporting(engine, asked, LogSpan(asked.since, asked.until), None if last is None else last.moment.date())


def _last(connection: Connection, asked: ExportAsked) -> LogEntry | None:
    return next(entries_after(connection, asked.until - 1, 1)) if asked.until else None


def files_of(export: Exporting, whole: Callable[[], Sequence[FileExported]]) -> list[Source]:
    """Return every file of an export in the order in which they are written, the manifest last.

    `whole` gives the files that are whole, when the manifest is reached: all others.
    """

    def manifest_rows(after: Key | None) -> Rows:
        if after is None:
            yield Written((), _manifest(export, whole()), 0)

    return [*sources_of(export), Source(PATH, manifest_rows)]


def _manifest(export: Exporting, files: Sequence[FileExported]) -> bytes:
    with reading(export.engine) as connection:
        last = _last(connection, export.asked)
        tables = connection.exec_driver_sql("SELECT version_num FROM alembic_version").scalar()
    versions = {
        "program": PROGRAM, "tables": str(tables), "submissions": ", ".join(VERSIONS), "judgements": JUDGEMENT_VERSION,
        "certificates": CERTIFICATE_VERSION,
    }  # fmt: skip
    return manifest(export.asked, last, files, _left_out(export), versions)


def _left_out(export: Exporting) -> dict[str, str]:
    if export.asked.sites is None:
        return dict(LEFT_OUT)
    return LEFT_OUT | {str(e.table.name): OF_THE_NETWORK for e in EXPORTED if e.network_only}
