"""The work on an import, chunk after chunk: look at the file, try it out; or, once a person said so, keep it.

The same for a worker's job and for the command. A chunk and how far the file was read are committed together, so that work
that was cut off goes on where it was: the file is read again from its beginning, and what was done is passed over.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from datetime import UTC, datetime
from functools import partial
from itertools import islice
from typing import Any, Protocol

from sqlalchemy import Connection, Engine

from api.actions.end_import import fail_import
from api.actions.end_trial import end_trial
from api.actions.finish_import import finish_import
from api.actions.keep_import_chunk import keep_import_chunk
from api.actions.settle_import import settle_import
from api.actions.try_import_chunk import try_import_chunk
from api.database import reading, unit_of_work
from api.exchange.first_look import first_look
from api.exchange.items import items_of
from api.exchange.repeats import SeenInFile
from api.exchange.settled import Settled
from api.keeping.imported_rows import Item
from api.keeping.imported_standing import Word
from api.queries.imports import import_run, pieces_of
from api.queries.known_register import known_on_register
from api.records.documents import record_from
from api.records.file_import import ImportRun
from api.records.import_faults import FileRefused
from api.records.import_visit import VisitRead
from api.records.problems import TooManyRejected
from schemas.imports import check_shape

# Rows a transaction: long enough that commits cost little, short enough that others wait a second at most.
CHUNK = 500
Progress = dict[str, Any]
Told = Callable[[Progress], None]


class Chunks(Protocol):
    """What does a chunk of work in one transaction: a job at work, or `HereAndNow`."""

    @property
    def engine(self) -> Engine:
        """Where the record is."""

    def chunk(self, work: Callable[[Connection], Progress]) -> None:
        """Do one chunk in one transaction."""


class HereAndNow:
    """Chunks of work in this process, for a command."""

    def __init__(self, engine: Engine, told: Told) -> None:
        self.engine = engine
        self._told = told

    def chunk(self, work: Callable[[Connection], Progress]) -> None:
        """Do one chunk in one transaction, and tell how far it is."""
        self._told(unit_of_work(self.engine, work))


def work_on_import(chunks: Chunks, name: str) -> str:
    """Do what an import waits for, and return the sentence that says what came of it."""
    run = _run(chunks, name)
    if run.told.state == "committing":
        return _keep(chunks, name)
    if run.told.state in ("received", "profiled", "tried out"):
        return _look_and_try(chunks, name)
    return f"The import is {run.told.state}; nothing is left to do."


def _run(chunks: Chunks, name: str) -> ImportRun:
    with reading(chunks.engine) as connection:
        return import_run(connection, name)


def _look_and_try(chunks: Chunks, name: str) -> str:
    """A trial that was cut off goes on; one whose register moved begins again."""
    run = _run(chunks, name)
    while True:
        if run.settled is None or run.told.state != "profiled" or run.rules is None:
            if (failed := _look(chunks, name)) is not None:
                return failed
            run = _run(chunks, name)
            if run.told.questions:
                return f"{len(run.told.questions)} settings are still to be declared."
        _each_chunk(chunks, name, try_import_chunk)
        if unit_of_work(chunks.engine, lambda connection: end_trial(connection, import_run(connection, name))):
            return "Tried out: nothing is kept until it is committed."
        run = replace(run, settled=None)


def _look(chunks: Chunks, name: str) -> str | None:
    """Look at the file and settle how it is read; return why it cannot be read at all, or None."""
    run = _run(chunks, name)
    try:
        look = first_look(partial(pieces_of, chunks.engine, name), run.profile)
    except FileRefused as refused:
        word = Word(run.told.asked_by, datetime.now(UTC), refused.sentence)
        unit_of_work(chunks.engine, lambda connection: fail_import(connection, name, word))
        return refused.sentence
    unit_of_work(
        chunks.engine,
        lambda connection: settle_import(
            connection, import_run(connection, name), look.settled, look.questions, look.kinds, look.misread_rows
        ),
    )
    return None


def _keep(chunks: Chunks, name: str) -> str:
    try:
        _each_chunk(chunks, name, keep_import_chunk)
    except TooManyRejected as refused:
        word = Word(_run(chunks, name).told.asked_by, datetime.now(UTC), refused.sentence)
        unit_of_work(chunks.engine, lambda connection: fail_import(connection, name, word))
        return refused.sentence
    moment = datetime.now(UTC)
    return unit_of_work(
        chunks.engine, lambda connection: finish_import(connection, import_run(connection, name), moment)
    )


ChunkAction = Callable[[Connection, ImportRun, Sequence[Item], datetime], Progress]


def _each_chunk(chunks: Chunks, name: str, action: ChunkAction) -> None:
    """Do an action with every chunk of the file that is still to be done."""
    run = _run(chunks, name)
    items = _checked(chunks.engine, run)
    for _ in islice(items, run.told.done):
        pass
    while chunk := list(islice(items, CHUNK)):
        chunks.chunk(partial(_one, action, name, chunk))


def _one(action: ChunkAction, name: str, chunk: Sequence[Item], connection: Connection) -> Progress:
    return action(connection, import_run(connection, name), chunk, datetime.now(UTC))


def _checked(engine: Engine, run: ImportRun) -> Iterator[Item]:
    """Everything in the file, its shape checked, and what repeats itself found."""
    settled = record_from(Settled, run.settled or {})
    seen, moment = SeenInFile(), datetime.now(UTC)
    with reading(engine) as connection:
        known = known_on_register(connection)
    for item in items_of(pieces_of(engine, run.told.file_import), run.profile, settled, known):
        if isinstance(item, VisitRead):
            check_shape(item, moment, run.sites)
            if not item.is_refused and (fault := seen.name(item)) is not None:
                item.faults.append(fault)
        yield item
