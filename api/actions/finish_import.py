"""Finish an import: everything that was kept stands from now on, and the log says so."""

from datetime import datetime

from sqlalchemy import Connection

from api.keeping.import_progress import move
from api.keeping.imported_standing import stand_imported, touched_by
from api.keeping.log import Draft, append_to_log, seal
from api.keeping.standing import Word
from api.ledger.digests import canonical_bytes
from api.records.documents import document_of
from api.records.file_import import ImportRun, totals_of


def finish_import(connection: Connection, run: ImportRun, moment: datetime) -> str:
    """Let every record of an import stand, and return the sentence that says what came of it."""
    told = run.told
    totals = totals_of(run.counts)
    visits = totals.visits
    new = visits.created + visits.noted
    said = f"{new} new records, {visits.replayed} on record before, {visits.rejected} refused."
    stand_imported(connection, told.file_import, Word(told.asked_by, moment))
    move(connection, run, state="done", because=said, finished_at=moment.isoformat())
    ended = {"import": told.file_import, "kept": document_of(totals)}
    sealed = seal(connection, canonical_bytes(ended))
    touched = touched_by(connection, told.file_import)
    append_to_log(connection, Draft("import done", told.asked_by, moment, touched, sealed))
    return said
