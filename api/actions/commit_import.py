"""Commit an import that was tried out: from here on its rows are kept, chunk by chunk. Bound to exactly what was tried."""

from datetime import datetime

from sqlalchemy import Connection

from api.keeping.import_progress import move, no_counts
from api.keeping.log import Draft, append_to_log, seal
from api.keeping.rule_version import rule_version
from api.ledger.digests import canonical_bytes
from api.queries.imports import import_run
from api.records.documents import document_of
from api.records.file_import import FileImport, ImportRun
from api.records.log import Touched
from api.records.problems import ImportNotReady, TooManyRejected, TriedOtherwise


def commit_import(
    connection: Connection, name: str, etag: str | None, by_whom: str, moment: datetime, job: str | None
) -> FileImport:
    """Let an import be kept, and return it. `etag` names what was tried, None where whoever asks has just seen it.

    Refuses what is not tried out (`ImportNotReady`), other files, profiles, rules or registers than those that were tried
    (`TriedOtherwise`), and more refused rows than the import allows (`TooManyRejected`).
    """
    run = import_run(connection, name)
    told = run.told
    if told.state != "tried out" or told.tried is None:
        raise ImportNotReady(f"The import is {told.state}; only what was tried out can be committed.", state=told.state)
    if etag not in (None, told.etag) or rule_version(connection) != run.rules:
        raise TriedOtherwise(
            "The file, its profile, the rules or the register are not those that were tried; try it out again.",
            tried=told.etag or "",
        )
    _check_rejected(run)
    _log_begun(connection, run, by_whom, moment)
    move(
        connection,
        run,
        state="committing",
        attempt=run.attempt + 1,
        done=0,
        counts=no_counts(),
        asked_by=by_whom,
        job=job,
    )
    return import_run(connection, name).told


def _check_rejected(run: ImportRun) -> None:
    """The whole file or nothing takes no refused row; each row for itself takes as many as the limit says."""
    tried = run.told.tried
    limit = 0 if run.told.mode == "all" else run.told.reject_limit
    if tried is not None and tried.visits.rejected > limit:
        raise TooManyRejected(
            f"{tried.visits.rejected} visits are refused; in the mode {run.told.mode!r} at most {limit} may be.",
            rejected=str(tried.visits.rejected), limit=str(limit),
        )  # fmt: skip


def _log_begun(connection: Connection, run: ImportRun, by_whom: str, moment: datetime) -> None:
    """What is imported, under which profile, is in the log before any of its rows is."""
    told = run.told
    begun = {
        "import": told.file_import, "name": told.name, "file": told.file_digest, "bytes": told.file_bytes,
        "profile": document_of(run.profile), "profile_digest": told.profile_digest, "mode": told.mode,
        "rules": run.rules, "tried": document_of(told.tried),
    }  # fmt: skip
    sealed = seal(connection, canonical_bytes(begun))
    digests = {"file": told.file_digest, "profile": told.profile_digest}
    append_to_log(
        connection, Draft("import begun", by_whom, moment, (Touched("import", told.file_import),), sealed, digests)
    )
