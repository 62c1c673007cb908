"""Exports read back: how far they are, and the bytes of their archive and of each of their files."""

import json
from collections.abc import Iterator
from datetime import datetime
from itertools import count
from typing import Any

from sqlalchemy import Connection, Engine, Row, Select, select

from api.database import reading
from api.models.file_export import EXPORT_PIECE, FILE_EXPORT
from api.models.job import JOB
from api.records.export import ExportFile, ExportRun, FileExport, FileExported
from api.records.problems import NotOnRecord

E = FILE_EXPORT.c


def export_run(connection: Connection, name: str) -> ExportRun:
    """Return everything that work on an export needs.

    Refuses an id that nothing was asked under, or whose time is over (`NotOnRecord`).
    """
    row = connection.execute(_rows().where(E.file_export == name)).one_or_none()
    if row is None:
        raise NotOnRecord(f"No export {name!r} was asked for, or its time is over.", file_export=name)
    return ExportRun(_export(row), _files(row))


def exports(connection: Connection) -> list[FileExport]:
    """Return every export that is kept, the newest first."""
    return [_export(row) for row in connection.execute(_rows().order_by(E.asked_at.desc(), E.file_export.desc()))]


def _rows() -> Select[Any]:
    job = (JOB.c.state, JOB.c.finished_at, JOB.c.answer)
    return select(FILE_EXPORT, *job).join(JOB, JOB.c.job == E.job)


def _export(row: Row[Any]) -> FileExport:
    files = tuple(ExportFile(file.path, file.rows, file.size, file.digest) for file in _files(row))
    return FileExport(
        file_export=row.file_export, state=row.state, log_number=row.log_number, since=row.since,
        asked_at=datetime.fromisoformat(row.asked_at), asked_by=row.asked_by,
        kept_until=datetime.fromisoformat(row.kept_until), job=row.job, done=len(files), files=files,
        sites=tuple(json.loads(row.sites)) if row.sites else None, size=row.size, digest=row.digest,
        finished_at=datetime.fromisoformat(row.finished_at) if row.finished_at else None, because=row.answer,
    )  # fmt: skip


def _files(row: Row[Any]) -> tuple[FileExported, ...]:
    return tuple(FileExported(**file) for file in json.loads(row.files))


def pieces_of_file(engine: Engine, name: str, file: int) -> Iterator[bytes]:
    """Give the packed segments of a file, each read on its own: a slow reader holds no look at the record open."""
    piece = EXPORT_PIECE.c
    for place in count():
        asked = (piece.file_export == name, piece.file == file, piece.place == place)
        with reading(engine) as connection:
            content = connection.scalar(select(piece.content).where(*asked))
        if content is None:
            return
        yield bytes(content)
