"""Imports read back: how far they are, their files, what came of each row, and where a record comes from."""

import json
from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from itertools import count
from typing import Any

from sqlalchemy import Connection, Engine, Row, Select, and_, select, tuple_

from api.database import reading
from api.ledger.digests import canonical_bytes, digest_of
from api.models.file_import import FILE_IMPORT, IMPORT_PIECE, IMPORT_ROW, IMPORTED
from api.models.log import SEALED
from api.models.record import CONTENT, STANDING
from api.records.documents import document_of, record_from
from api.records.file_import import FileImport, ImportCounts, Imported, ImportRun, RowTold, totals_of
from api.records.import_faults import Question
from api.records.import_profile import ImportProfile
from api.records.import_visit import PARTIAL
from api.records.problems import NotOnRecord

F = FILE_IMPORT.c
# The bytes of every content of a record, the first first; None for those that a redaction removed.
Contents = tuple[bytes | None, ...]


def import_run(connection: Connection, name: str) -> ImportRun:
    """Return everything that work on an import needs; refuses an id under which nothing was received (`NotOnRecord`)."""
    row = connection.execute(select(FILE_IMPORT).where(F.file_import == name)).one_or_none()
    if row is None:
        raise NotOnRecord(f"No file was received as the import {name!r}.", file_import=name)
    return _run(row)


def imports(connection: Connection) -> list[ImportRun]:
    """Return every import, the newest first."""
    newest: Select[Any] = select(FILE_IMPORT).order_by(F.asked_at.desc(), F.file_import.desc())
    return [_run(row) for row in connection.execute(newest)]


def unended(connection: Connection, file_digest: str, profile: ImportProfile, mode: str) -> str | None:
    """Return the import of a file under a profile that was begun and has not ended, the newest, or None."""
    digest = digest_of(canonical_bytes(document_of(profile)))
    states = ("received", "profiled", "tried out", "committing")
    same = (F.file_digest == file_digest, F.profile_digest == digest, F.mode == mode, F.state.in_(states))
    return connection.scalar(select(F.file_import).where(*same).order_by(F.asked_at.desc()).limit(1))


def etag_of(file_digest: str, profile_digest: str, rules: str) -> str:
    """Return what a commit is bound to: this file, read by this profile, judged by these rules."""
    return digest_of(f"{file_digest} {profile_digest} {rules}".encode()).removeprefix("sha256:")[:32]


def _run(row: Row[Any]) -> ImportRun:
    look = json.loads(row.look) if row.look else {}
    profile = record_from(ImportProfile, json.loads(row.profile))
    counts = _counts(row.counts) or ImportCounts()
    tried, begun = _counts(row.tried), row.state in ("committing", "done", "given up", "undone", "failed")
    bound = row.state == "tried out" and row.rules is not None
    told = FileImport(
        file_import=row.file_import, name=row.name, state=row.state, mode=row.mode, reject_limit=row.reject_limit,
        layout=profile.layout, source=profile.source, profile=profile.code, profile_revision=row.profile_revision,
        profile_digest=row.profile_digest, file_digest=row.file_digest, file_bytes=row.file_bytes,
        asked_at=datetime.fromisoformat(row.asked_at), asked_by=row.asked_by, done=row.done, because=row.because,
        questions=tuple(record_from(Question, q) for q in look.get("questions", ())),
        kinds_of_rows=look.get("kinds", {}), misread_rows=look.get("misread_rows", 0),
        tried=totals_of(tried) if tried else None, kept=totals_of(counts) if begun and tried else None,
        etag=etag_of(row.file_digest, row.profile_digest, row.rules) if bound else None, job=row.job,
        finished_at=datetime.fromisoformat(row.finished_at) if row.finished_at else None,
    )  # fmt: skip
    sites = tuple(json.loads(row.sites)) if row.sites else None
    return ImportRun(told, profile, look.get("settled"), counts, row.attempt, sites, row.rules)


def _counts(text: str | None) -> ImportCounts | None:
    return ImportCounts(**json.loads(text)) if text else None


def pieces_of(engine: Engine, name: str) -> Iterator[bytes]:
    """Give the bytes of an import's file, each piece read on its own.

    One long look at the record would keep its write-ahead log from being taken in while the import writes.
    """
    piece = IMPORT_PIECE.c
    for place in count():
        with reading(engine) as connection:
            content = connection.scalar(select(piece.content).where(piece.file_import == name, piece.place == place))
        if content is None:
            return
        yield bytes(content)


def rows_told(connection: Connection, name: str, attempt: int) -> Iterator[RowTold]:
    """Give what came of an import's rows in one attempt, in the order of the file's lines."""
    told = IMPORT_ROW.c
    query = (
        select(told.document).where(told.file_import == name, told.attempt == attempt).order_by(told.line, told.place)
    )
    for document in connection.scalars(query):
        yield record_from(RowTold, json.loads(document))


def kept_under(connection: Connection, ids: Iterable[tuple[str, str]]) -> dict[tuple[str, str], tuple[Contents, bool]]:
    """Return what is on record under ids (site, calibration): each content's bytes, and whether it went with its import."""
    asked = list(dict.fromkeys(ids))
    if not asked:
        return {}
    key = tuple_(CONTENT.c.site, CONTENT.c.calibration).in_(asked)
    query = (
        select(CONTENT.c.site, CONTENT.c.calibration, SEALED.c.content)
        .join(SEALED, SEALED.c.digest == CONTENT.c.sealed).where(key).order_by(CONTENT.c.revision)
    )  # fmt: skip
    found: dict[tuple[str, str], tuple[bytes | None, ...]] = {}
    for row in connection.execute(query):
        name = (row.site, row.calibration)
        found[name] = (*found.get(name, ()), row.content)
    gone = _gone(connection, list(found))
    return {name: (content, name in gone) for name, content in found.items()}


def _gone(connection: Connection, ids: Sequence[tuple[str, str]]) -> set[tuple[str, str]]:
    """Records that are void because their import was given up or undone; what a person made void alone is not among them."""
    if not ids:
        return set()
    ended = IMPORTED.join(FILE_IMPORT, F.file_import == IMPORTED.c.file_import)
    of = and_(STANDING.c.site == IMPORTED.c.site, STANDING.c.calibration == IMPORTED.c.calibration)
    query = (
        select(IMPORTED.c.site, IMPORTED.c.calibration, STANDING.c.standing).select_from(ended.join(STANDING, of))
        .where(tuple_(IMPORTED.c.site, IMPORTED.c.calibration).in_(ids), F.state.in_(("given up", "undone", "failed")))
        .order_by(STANDING.c.revision, STANDING.c.place)
    )  # fmt: skip
    last = {(row.site, row.calibration): row.standing for row in connection.execute(query)}
    return {name for name, standing in last.items() if standing == "void"}


def imported_from(connection: Connection, ids: Iterable[tuple[str, str]]) -> dict[tuple[str, str], Imported]:
    """Return where records come from that were imported, by site and id; nothing for those that were sent."""
    asked = list(dict.fromkeys(ids))
    if not asked:
        return {}
    query = select(IMPORTED).where(
        IMPORTED.c.site.in_({site for site, _ in asked}), IMPORTED.c.calibration.in_({name for _, name in asked})
    )
    return {(row.site, row.calibration): _imported(row) for row in connection.execute(query)}


def _imported(row: Row[Any]) -> Imported:
    lacks = tuple(json.loads(row.lacks))
    return Imported(
        row.file_import, row.file_digest, row.line, row.profile, row.profile_digest, row.raw, lacks,
        bool(PARTIAL.intersection(lacks)), row.profile_revision, row.source_key,
    )  # fmt: skip
