"""Keep a segment of an export that was made ready, and with it the files that are whole."""

import json
from collections.abc import Sequence
from dataclasses import asdict, dataclass

from sqlalchemy import Connection, insert, update

from api.models.file_export import EXPORT_PIECE, FILE_EXPORT
from api.records.export import FileExported


@dataclass(frozen=True, slots=True)
class SegmentReady:
    """A packed segment: of which file by its place, where in it, and all files that are whole by now."""

    file: int
    place: int
    packed: bytes
    files: Sequence[FileExported]


def keep_export_segment(connection: Connection, name: str, ready: SegmentReady) -> None:
    """Keep a segment behind those before."""
    row = {"file_export": name, "file": ready.file, "place": ready.place, "content": ready.packed}
    connection.execute(insert(EXPORT_PIECE), row)
    files = json.dumps([asdict(file) for file in ready.files])
    connection.execute(update(FILE_EXPORT).where(FILE_EXPORT.c.file_export == name).values(files=files))
