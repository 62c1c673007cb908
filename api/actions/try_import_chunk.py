"""Try out a chunk of a file: everything was judged as if it were kept, and only what came of it is noted."""

from datetime import datetime
from typing import Any

from sqlalchemy import Connection

from api.keeping.import_chunk import ReadyChunk
from api.keeping.import_progress import keep_progress
from api.records.file_import import ImportRun


def try_import_chunk(connection: Connection, run: ImportRun, ready: ReadyChunk, moment: datetime) -> dict[str, Any]:
    """Keep what would come of a chunk, and how far the file was read; return the progress."""
    return keep_progress(connection, run, ready.told, run.told.done + ready.items)
