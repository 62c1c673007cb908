"""Keep a chunk of an import that was made ready: its inserts, how far the file was read, one log entry a record."""

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import Connection

from api.database import write_inserts
from api.keeping.import_chunk import ReadyChunk
from api.keeping.import_progress import keep_progress
from api.keeping.imported_standing import stand_imported
from api.keeping.log import append_to_log
from api.keeping.standing import Word
from api.records.file_import import ImportRun, RowTold
from api.records.problems import TooManyRejected


def keep_import_chunk(connection: Connection, run: ImportRun, ready: ReadyChunk, moment: datetime) -> dict[str, Any]:
    """Keep a chunk, and with it how far the file was read; return the progress.

    Refuses where more rows are refused by now than the import allows (`TooManyRejected`); nothing of the chunk is kept.
    """
    _check_rejected(run, ready.told)
    write_inserts(connection, ready.inserts)
    progress = keep_progress(connection, run, ready.told, run.told.done + ready.items)
    if run.told.mode == "each":
        stand_imported(connection, run.told.file_import, Word(run.told.asked_by, moment))
    if ready.drafts:
        append_to_log(connection, *ready.drafts)
    return progress


def _check_rejected(run: ImportRun, told: Sequence[RowTold]) -> None:
    limit = 0 if run.told.mode == "all" else run.told.reject_limit
    rejected = [row for row in told if row.status == "rejected"]
    if run.counts.visits["rejected"] + len(rejected) > limit:
        first = rejected[0]
        said = first.faults[0].told() if first.faults else f"line {first.line}"
        raise TooManyRejected(f"A visit that was good when it was tried is refused now: {said}", line=str(first.line))
