"""Importing in tests: a file through the same work as the command and a worker's job do, and what came of it."""

import uuid
from typing import Any

from sqlalchemy import Engine

from api.actions.commit_import import commit_import
from api.actions.receive_import import FileReceived, receive_import
from api.cli.import_work import HereAndNow, work_on_import
from api.database import reading, unit_of_work
from api.ledger.digests import digest_of
from api.queries.imports import import_run, rows_told
from api.records.file_import import FileImport, ImportMode, RowTold
from api.records.import_profile import ImportProfile
from schemas.imports import profile_of
from tests.filled_record import NOON

# Small enough that a file has several, which end in the midst of lines and letters; large enough to be quick.
PIECE = 65_537
# How most files of these tests are written: semicolons, decimal points, days by ISO 8601, masses in kilograms.
A_PROFILE: dict[str, Any] = {
    "code": "old-system", "source": "OLD", "layout": "a row a visit", "delimiter": ";", "decimal": ".",
    "unit": "kg", "days": "year-month-day",
    "columns": [
        {"header": "Tag", "field": "device"},
        {"header": "Day", "field": "performed_on"},
        {"header": "Found", "field": "indication", "phase": "as found", "test": "increasing",
         "load": {"value": "100", "unit": "kg"}},
        {"header": "Left", "field": "indication", "phase": "as left", "test": "increasing",
         "load": {"value": "100", "unit": "kg"}},
        {"header": "Note", "field": "remarks"},
    ],
    "constants": [
        {"field": "site", "value": "QG"}, {"field": "technician", "value": "T-01"},
        {"field": "purpose", "value": "scheduled"}, {"field": "outcome", "value": "completed"},
    ],
}  # fmt: skip
# One submission a line: nothing is to be declared.
LINES: dict[str, Any] = {"code": "lines", "source": "OLD", "layout": "a submission a line"}


def profile_from(document: dict[str, Any]) -> ImportProfile:
    """Return a profile through the wire's own door."""
    return profile_of(document)


def received(
    engine: Engine, content: bytes, profile: ImportProfile, mode: ImportMode = "all", reject_limit: int = 0
) -> str:
    """Receive a file, in pieces of a prime number of bytes, and return its import."""
    name = str(uuid.uuid4())
    file = FileReceived(
        name, "old.csv", digest_of(content), len(content), profile, None, mode, reject_limit, None, "T-01", NOON
    )
    pieces = [content[start : start + PIECE] for start in range(0, len(content), PIECE)]
    unit_of_work(engine, lambda connection: receive_import(connection, file, pieces, None))
    return name


def tried(
    engine: Engine, content: bytes, profile: ImportProfile, mode: ImportMode = "all", reject_limit: int = 0
) -> FileImport:
    """Receive a file and try it out."""
    name = received(engine, content, profile, mode, reject_limit)
    work_on_import(HereAndNow(engine, lambda progress: None), name)
    return told_of(engine, name)


def committed(engine: Engine, told: FileImport) -> FileImport:
    """Commit an import that was tried out."""
    name = told.file_import
    unit_of_work(engine, lambda connection: commit_import(connection, name, told.etag, "T-01", NOON, None))
    work_on_import(HereAndNow(engine, lambda progress: None), name)
    return told_of(engine, name)


def imported(
    engine: Engine, content: bytes, profile: ImportProfile, mode: ImportMode = "all", reject_limit: int = 0
) -> FileImport:
    """Receive a file, try it out and commit it."""
    return committed(engine, tried(engine, content, profile, mode, reject_limit))


def told_of(engine: Engine, name: str) -> FileImport:
    """Return how far an import is."""
    with reading(engine) as connection:
        return import_run(connection, name).told


def rows_of(engine: Engine, name: str) -> list[RowTold]:
    """Return what came of each row."""
    with reading(engine) as connection:
        return list(rows_told(connection, name, import_run(connection, name).attempt))
