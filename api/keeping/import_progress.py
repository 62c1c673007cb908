"""How far the work on an import is: counts and place, moved in the same transaction as the work itself."""

import json
from collections.abc import Iterable
from dataclasses import asdict
from typing import Any

from sqlalchemy import Connection, insert, update

from api.database import Prepared
from api.models.file_import import FILE_IMPORT, IMPORT_ROW
from api.records.documents import document_of
from api.records.file_import import ImportCounts, ImportRun, RowTold

_ROW = Prepared(insert(IMPORT_ROW))


class ImportMoved(Exception):
    """Somebody else worked on the import in the meantime; nothing of this chunk was kept."""


def keep_progress(connection: Connection, run: ImportRun, told: Iterable[RowTold], seen_to: int) -> dict[str, Any]:
    """Keep what came of a chunk's rows and how far the file was read with it; return the progress.

    Refuses where the import is not where the run left it (`ImportMoved`).
    """
    counts = run.counts
    rows = []
    for place, row in enumerate(told, start=run.told.done):
        counts.count(row.status, row.rows, list(row.faults))
        rows.append(
            {"file_import": run.told.file_import, "attempt": run.attempt, "place": place, "line": row.line,
             "last_line": row.last_line, "status": row.status, "document": json.dumps(document_of(row))}
        )  # fmt: skip
    if rows:
        _ROW.run(connection, rows)
    move(connection, run, done=seen_to, counts=json.dumps(asdict(counts)))
    return {"done": seen_to, "rows": counts.read, **counts.visits}


def move(connection: Connection, run: ImportRun, **changed: Any) -> None:
    """Change an import that is where the run left it; refuses where it is not (`ImportMoved`)."""
    f, told = FILE_IMPORT.c, run.told
    where = (f.file_import == told.file_import, f.state == told.state, f.attempt == run.attempt, f.done == told.done)
    if connection.execute(update(FILE_IMPORT).where(*where).values(**changed)).rowcount != 1:
        raise ImportMoved(f"The import {run.told.file_import} was worked on by somebody else.")


def no_counts() -> str:
    """Return counts at their beginning, as they are stored."""
    return json.dumps(asdict(ImportCounts()))
