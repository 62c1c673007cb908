"""Making chunks of an import ready: in this process, and every other one in a helper's beside it.

Reading, checking and judging take most of the time and write nothing, so two processes share them; the writes stay one
after the other, in the order of the file.
"""

import gc
from collections.abc import Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from contextlib import contextmanager
from dataclasses import replace
from datetime import UTC, datetime
from multiprocessing import get_context

from sqlalchemy import Connection, Engine

from api.database import make_engine, reading
from api.keeping.import_chunk import ReadyChunk, made_ready
from api.keeping.imported_rows import Item
from api.records.file_import import ImportRun
from api.records.import_visit import VisitRead
from schemas.imports import check_shape

Part = list[Item]
# Visits parsed at once: a parsed visit of 30 readings takes some 150 kB.
BATCH = 50


class Helper:
    """A process that makes chunks ready, with a connection of its own."""

    def __init__(self, url: str) -> None:
        self._pool = ProcessPoolExecutor(1, get_context("spawn"), _begin, (url,))

    def ready(self, run: ImportRun, part: Part, to_keep: bool) -> "Future[ReadyChunk]":
        """Have a chunk made ready."""
        return self._pool.submit(_in_helper, run, part, to_keep)

    def close(self) -> None:
        """End the process."""
        self._pool.shutdown(cancel_futures=True)


_ENGINE: list[Engine] = []


def _begin(url: str) -> None:
    _ENGINE.append(make_engine(url))


def _in_helper(run: ImportRun, part: Part, to_keep: bool) -> ReadyChunk:
    return ready_here(_ENGINE[0], run, part, to_keep=to_keep)


def ready_chunks(
    engine: Engine, run: ImportRun, parts: Iterator[Part], helper: Helper | None, *, to_keep: bool
) -> Iterator[tuple[Part, ReadyChunk]]:
    """Give each part of a file and the chunk made ready of it, in their order."""
    for first in parts:
        beside = helper.ready(run, first, to_keep) if helper is not None else None
        own = next(parts, None) if beside is not None else first
        mine = [ready_here(engine, run, own, to_keep=to_keep)] if own is not None else []
        if beside is not None:
            yield first, beside.result()
            beside = None  # a chunk made ready is large: no more of them are held than wait to be written
        if own is not None:
            yield own, mine.pop()


def ready_here(engine: Engine, run: ImportRun, part: Sequence[Item], *, to_keep: bool) -> ReadyChunk:
    """Return a chunk made ready in this process."""
    with reading(engine) as connection:
        return ready_on(connection, run, part, to_keep=to_keep)


def ready_on(connection: Connection, run: ImportRun, part: Sequence[Item], *, to_keep: bool) -> ReadyChunk:
    """Return a chunk made ready as a connection sees the record. The items stay as they are, to be made ready again."""
    moment = datetime.now(UTC)
    batches = (_checked(part[start : start + BATCH], moment, run.sites) for start in range(0, len(part), BATCH))
    with _uncollected():
        return made_ready(connection, run, batches, moment, to_keep=to_keep)


def _checked(items: Sequence[Item], moment: datetime, sites: tuple[str, ...] | None) -> Part:
    """Copies of some items, their shape checked."""
    copies = [replace(item, faults=list(item.faults)) if isinstance(item, VisitRead) else item for item in items]
    for item in copies:
        if isinstance(item, VisitRead):
            check_shape(item, moment, sites)
    return copies


@contextmanager
def _uncollected() -> Iterator[None]:
    """Leave the search for cycles until a chunk is done: it makes none, and looking for them took a seventh of the time."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()
