"""End an import before it is done, or undo one that is: what was kept of it is void from now on. Nothing is deleted."""

from sqlalchemy import Connection

from api.keeping.import_progress import move
from api.keeping.imported_standing import touched_by, void_imported
from api.keeping.log import Draft, append_to_log, seal
from api.keeping.standing import Word
from api.ledger.digests import canonical_bytes
from api.queries.imports import import_run
from api.records.file_import import FileImport, ImportRun, ImportState
from api.records.problems import ImportNotReady

UNBEGUN: tuple[ImportState, ...] = ("received", "profiled", "tried out")


def give_up_import(connection: Connection, name: str, word: Word) -> FileImport:
    """Give up an import that is not done; refuses one that has ended (`ImportNotReady`)."""
    run = import_run(connection, name)
    if run.told.state not in (*UNBEGUN, "committing"):
        raise ImportNotReady(f"The import is {run.told.state}; it has ended.", state=run.told.state)
    return _ended(connection, run, "given up", word)


def fail_import(connection: Connection, name: str, word: Word) -> FileImport:
    """End an import that cannot go on. What an import of the whole file or nothing had kept is void."""
    return _ended(connection, import_run(connection, name), "failed", word)


def undo_import(connection: Connection, name: str, word: Word) -> FileImport:
    """Make every record of an import void; refuses one that kept nothing that stands (`ImportNotReady`)."""
    run = import_run(connection, name)
    if run.told.state not in ("done", "failed"):
        raise ImportNotReady(
            f"The import is {run.told.state}; only one that is done can be undone.", state=run.told.state
        )
    return _ended(connection, run, "undone", word)


def _ended(connection: Connection, run: ImportRun, state: ImportState, word: Word) -> FileImport:
    told, kept_any = run.told, run.told.state not in UNBEGUN
    keeps = state == "failed" and told.mode == "each"
    move(connection, run, state=state, because=word.because, finished_at=word.moment.isoformat())
    if kept_any:
        touched = touched_by(connection, told.file_import)
        void = 0 if keeps else void_imported(connection, told.file_import, word)
        sealed = seal(
            connection,
            canonical_bytes({"import": told.file_import, "because": word.because, "records_made_void": void}),
        )
        append_to_log(connection, Draft(f"import {state}", word.by_whom, word.moment, touched, sealed))
    return import_run(connection, told.file_import).told
