"""Begin an export: what was asked, for the worker that takes its job. Exports whose time is over are thrown away."""

import json
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from sqlalchemy import Connection, delete, insert, select

from api.models.file_export import EXPORT_PIECE, FILE_EXPORT
from api.queries.exports import export_run
from api.records.export import ExportAsked, FileExport

# A house choice, no source: long enough to fetch it after a weekend.
KEPT_FOR: Final = timedelta(days=7)


@dataclass(frozen=True, slots=True)
class ExportBegun:
    """An export as it is begun: its id and job, what was asked, by whom, when."""

    file_export: str
    job: str
    asked: ExportAsked
    by_whom: str
    moment: datetime


def begin_export(connection: Connection, begun: ExportBegun) -> FileExport:
    """Return the export begun, nothing of it made yet."""
    _throw_away(connection, begun.moment)
    asked = begun.asked
    connection.execute(
        insert(FILE_EXPORT),
        {
            "file_export": begun.file_export, "log_number": asked.until, "since": asked.since,
            "sites": None if asked.sites is None else json.dumps(asked.sites), "asked_at": begun.moment.isoformat(),
            "asked_by": begun.by_whom, "kept_until": (begun.moment + KEPT_FOR).isoformat(), "job": begun.job,
            "files": "[]",
        },
    )  # fmt: skip
    return export_run(connection, begun.file_export).told


def _throw_away(connection: Connection, moment: datetime) -> None:
    over = select(FILE_EXPORT.c.file_export).where(FILE_EXPORT.c.kept_until < moment.isoformat())
    connection.execute(delete(EXPORT_PIECE).where(EXPORT_PIECE.c.file_export.in_(over)))
    connection.execute(delete(FILE_EXPORT).where(FILE_EXPORT.c.kept_until < moment.isoformat()))
