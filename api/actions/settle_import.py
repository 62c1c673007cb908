"""Settle how a file is read, after the first look at it: what is open is asked; nothing open, and it can be tried out."""

import json
from typing import Any

from sqlalchemy import Connection, delete

from api.keeping.import_progress import move, no_counts
from api.keeping.rule_version import rule_version
from api.models.file_import import IMPORT_ROW
from api.records.documents import document_of
from api.records.file_import import ImportRun
from api.records.import_faults import Question


def settle_import(
    connection: Connection,
    run: ImportRun,
    settled: Any,
    questions: tuple[Question, ...],
    kinds: dict[str, int],
    misread: int,
) -> None:
    """Keep what the first look showed. With a question open the import stays `profiled` until it is answered."""
    look = {
        "settled": document_of(settled), "questions": document_of(questions), "kinds": kinds, "misread_rows": misread,
    }  # fmt: skip
    connection.execute(delete(IMPORT_ROW).where(IMPORT_ROW.c.file_import == run.told.file_import))
    move(
        connection, run, look=json.dumps(look), state="profiled", attempt=run.attempt + 1, done=0, counts=no_counts(),
        tried=None, rules=None if questions else rule_version(connection),
        because=f"{len(questions)} settings are still to be declared." if questions else None,
    )  # fmt: skip
