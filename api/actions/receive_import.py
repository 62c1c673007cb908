"""Receive a file of old records: keep it with its profile until a person says what becomes of it."""

import json
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, insert

from api.keeping.import_progress import no_counts
from api.ledger.digests import canonical_bytes, digest_of
from api.models.file_import import FILE_IMPORT, IMPORT_PIECE
from api.queries.imports import import_run
from api.records.documents import document_of
from api.records.file_import import FileImport, ImportMode
from api.records.import_profile import ImportProfile


@dataclass(frozen=True, slots=True)
class FileReceived:
    """A file as it was received: under which id and name, its digest and size, how it is to be imported, for which sites."""

    file_import: str
    name: str
    digest: str
    size: int
    profile: ImportProfile
    profile_revision: int | None
    mode: ImportMode
    reject_limit: int
    sites: tuple[str, ...] | None
    by_whom: str
    moment: datetime


def receive_import(
    connection: Connection, received: FileReceived, pieces: Iterable[bytes], job: str | None
) -> FileImport:
    """Keep a file and return its import, received. Nothing of it is on record yet."""
    document = canonical_bytes(document_of(received.profile))
    connection.execute(
        insert(FILE_IMPORT),
        {
            "file_import": received.file_import, "name": received.name, "state": "received", "mode": received.mode,
            "reject_limit": received.reject_limit,
            "sites": None if received.sites is None else json.dumps(sorted(received.sites)),
            "profile": document.decode(), "profile_revision": received.profile_revision,
            "profile_digest": digest_of(document), "file_digest": received.digest, "file_bytes": received.size,
            "asked_at": received.moment.isoformat(), "asked_by": received.by_whom, "attempt": 0, "done": 0,
            "counts": no_counts(), "job": job,
        },
    )  # fmt: skip
    for place, content in enumerate(pieces):
        connection.execute(
            insert(IMPORT_PIECE), {"file_import": received.file_import, "place": place, "content": content}
        )
    return import_run(connection, received.file_import).told
