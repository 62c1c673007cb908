"""Try a file out again, by a newer revision of its profile or by another: what the first trial said is thrown away."""

from sqlalchemy import Connection

from api.keeping.import_progress import move
from api.ledger.digests import canonical_bytes, digest_of
from api.queries.imports import import_run
from api.records.documents import document_of
from api.records.file_import import FileImport
from api.records.import_profile import ImportProfile
from api.records.problems import ImportNotReady


def try_import_again(
    connection: Connection, name: str, profile: ImportProfile, revision: int | None, job: str | None
) -> FileImport:
    """Put an import back to where it was received, under a profile, and return it.

    Refuses an import that is being committed or has ended (`ImportNotReady`), unless its file could not be read.
    """
    run = import_run(connection, name)
    unread = run.told.state == "failed" and run.told.tried is None
    if run.told.state not in ("received", "profiled", "tried out") and not unread:
        raise ImportNotReady(f"The import is {run.told.state}; it cannot be tried out again.", state=run.told.state)
    document = canonical_bytes(document_of(profile))
    move(
        connection, run, state="received", profile=document.decode(), profile_revision=revision,
        profile_digest=digest_of(document), look=None, rules=None, because=None, finished_at=None, job=job,
    )  # fmt: skip
    return import_run(connection, name).told
