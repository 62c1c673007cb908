"""Try out a chunk of a file: everything is judged as if it were kept, and nothing is."""

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import Connection

from api.keeping.import_progress import keep_progress
from api.keeping.imported_rows import Item, outcomes
from api.records.file_import import ImportRun


def try_import_chunk(connection: Connection, run: ImportRun, items: Sequence[Item], moment: datetime) -> dict[str, Any]:
    """Keep what would come of some items of a file, and how far it was read; return the progress."""
    found = outcomes(connection, items, run.told.source, moment, to_keep=False)
    return keep_progress(connection, run, [outcome.told for outcome in found], run.told.done + len(items))
