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
from sqlalchemy.exc import IntegrityError

from api.actions.end_import import fail_import
from api.actions.end_trial import end_trial
from api.actions.finish_import import finish_import
from api.actions.keep_import_chunk import keep_import_chunk
from api.actions.settle_import import settle_import
from api.actions.try_import_chunk import try_import_chunk
from api.cli.import_helper import Helper, ready_chunks, ready_on
from api.database import reading, unit_of_work
from api.exchange.first_look import first_look
from api.exchange.items import items_of
from api.exchange.repeats import SeenInFile
from api.exchange.settled import Settled
from api.keeping.import_chunk import ReadyChunk
from api.keeping.imported_rows import Item
from api.keeping.rule_version import rule_version
from api.keeping.standing import Word
from api.queries.imports import import_run, pieces_of
from api.queries.known_register import known_on_register
from api.queries.register import register_number
from api.records.documents import record_from
from api.records.file_import import ImportRun
from api.records.import_faults import FileRefused
from api.records.import_visit import VisitRead
from api.records.problems import TooManyRejected
from schemas.imports import named_in_line

# Visits a transaction: enough that commits cost little, few enough that others hardly wait and two chunks made ready (some
# 100 kB a visit of 30 readings) take little room.
CHUNK = 250
TRIED = "Tried out: nothing is kept until it is committed."
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


def work_on_import(chunks: Chunks, name: str, helper: Helper | None = None) -> str:
    """Do what an import waits for, and return the sentence that says what came of it.

    A helper makes every other chunk ready in a process of its own.
    """
    run = _run(chunks, name)
    if run.told.state == "committing":
        return _keep(chunks, name, helper)
    if run.told.state in ("received", "profiled", "tried out"):
        return _look_and_try(chunks, name, helper)
    return f"The import is {run.told.state}; nothing is left to do."


def _run(chunks: Chunks, name: str) -> ImportRun:
    with reading(chunks.engine) as connection:
        return import_run(connection, name)


def _look_and_try(chunks: Chunks, name: str, helper: Helper | None) -> str:
    """A trial that was cut off goes on; one whose register moved begins again."""
    run = _run(chunks, name)
    if run.told.state == "tried out" and run.rules == _rules(chunks):
        return TRIED
    while True:
        if run.settled is None or run.told.state != "profiled" or run.rules is None:
            if (failed := _look(chunks, name)) is not None:
                return failed
            run = _run(chunks, name)
            if run.told.questions:
                return f"{len(run.told.questions)} settings are still to be declared."
        _each_chunk(chunks, name, try_import_chunk, helper)
        if unit_of_work(chunks.engine, lambda connection: end_trial(connection, import_run(connection, name))):
            return TRIED
        run = replace(run, settled=None)


def _rules(chunks: Chunks) -> str:
    with reading(chunks.engine) as connection:
        return rule_version(connection)


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


def _keep(chunks: Chunks, name: str, helper: Helper | None) -> str:
    try:
        _each_chunk(chunks, name, keep_import_chunk, helper)
    except TooManyRejected as refused:
        word = Word(_run(chunks, name).told.asked_by, datetime.now(UTC), refused.sentence)
        unit_of_work(chunks.engine, lambda connection: fail_import(connection, name, word))
        return refused.sentence
    moment = datetime.now(UTC)
    return unit_of_work(
        chunks.engine, lambda connection: finish_import(connection, import_run(connection, name), moment)
    )


ChunkAction = Callable[[Connection, ImportRun, ReadyChunk, datetime], Progress]


def _each_chunk(chunks: Chunks, name: str, action: ChunkAction, helper: Helper | None) -> None:
    """Do an action with every chunk of the file that is still to be done, in its order."""
    run = _run(chunks, name)
    items = _items(chunks.engine, run)
    for _ in islice(items, run.told.done):
        pass
    parts = iter(lambda: list(islice(items, CHUNK)), [])
    for part, ready in ready_chunks(chunks.engine, run, parts, helper, to_keep=action is keep_import_chunk):
        try:
            chunks.chunk(partial(_one, action, name, part, ready))
        except IntegrityError:  # what the file repeats was not on record yet when the chunk was made ready
            chunks.chunk(partial(_one, action, name, part, None))
        del part, ready


def _one(
    action: ChunkAction, name: str, part: Sequence[Item], ready: ReadyChunk | None, connection: Connection
) -> Progress:
    """One chunk, made ready again where the register has moved since."""
    run, moment = import_run(connection, name), datetime.now(UTC)
    if ready is None or ready.register != register_number(connection):
        ready = ready_on(connection, run, part, to_keep=action is keep_import_chunk)
    return action(connection, run, ready, moment)


def _items(engine: Engine, run: ImportRun) -> Iterator[Item]:
    """Everything in the file, what repeats itself found."""
    settled, seen = record_from(Settled, run.settled or {}), SeenInFile()
    with reading(engine) as connection:
        known = known_on_register(connection)
    for item in items_of(pieces_of(engine, run.told.file_import), run.profile, settled, known):
        if isinstance(item, VisitRead):
            if item.content is None:
                item.calibration = named_in_line(item.raw)
            if (fault := seen.name(item)) is not None:
                item.faults.append(fault)
        yield item
