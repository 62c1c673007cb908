"""The same id again: the same content is answered as it was the first time, other content is refused.

The same bytes, or the same values with every text the same, are the same content; an `id` in the body is the address said
again, and no part of what is compared.
"""

import json
from typing import Any

from sqlalchemy import Connection

from api.keeping.content import Arrived, keep_arrival
from api.keeping.log import Draft, append_to_log, hold_log, seal
from api.ledger.digests import digest_of
from api.queries.calibrations import calibration, record_key
from api.queries.content import SentContent, arrivals_of
from api.queries.log import hash_of_entry
from api.records.calibration import Calibration, Receipt, StoredFlag
from api.records.differences import differing_pointers
from api.records.log import Touched
from api.records.problems import ContentDiffers


def refuse_other_content(arrived: Arrived, known: bytes, what: str = "Calibration") -> None:
    """Refuse content that is not what is on record under its id, naming where they differ (`ContentDiffers`)."""
    if pointers := _differing(arrived, known):
        raise ContentDiffers(
            f"{what} {arrived.calibration} is on record with other content; it differs at {', '.join(pointers[:5])}. "
            "Nothing was changed; another one goes under an id of its own.",
            pointers, kept_digest=digest_of(known), sent_digest=digest_of(arrived.body),
        )  # fmt: skip


def is_same_content(arrived: Arrived, known: bytes) -> bool:
    """Return whether what arrived is what is on record: the same bytes, or the same values."""
    return not _differing(arrived, known)


def _differing(arrived: Arrived, known: bytes) -> tuple[str, ...]:
    if arrived.body == known:
        return ()
    return differing_pointers(_without_id(arrived.content), _without_id(json.loads(known)))


def _without_id(content: Any) -> Any:
    return {name: value for name, value in content.items() if name != "id"}


def replayed(connection: Connection, arrived: Arrived, site: str, known: SentContent) -> Receipt:
    """Keep that the content of a calibration arrived again and return its first receipt, marked replayed.

    Refuses other content (`ContentDiffers`); nothing is changed then.
    """
    refuse_other_content(arrived, known.body)
    hold_log(connection)
    keep_arrival(connection, arrived, site, arrivals_of(connection, site, arrived.calibration) + 1)
    note_arrival(connection, arrived, "calibration arrived again", site)
    return receipt_of(
        connection, arrived, calibration(connection, arrived.calibration, site, known.revision), again=True
    )


def receipt_of(connection: Connection, arrived: Arrived, kept: Calibration, *, again: bool) -> Receipt:
    """Return the receipt of a content that is on record, as it stands now, for this arrival of it."""
    return Receipt(
        calibration=kept.calibration,
        site=kept.site,
        revision=kept.revision,
        replayed=again,
        received_at=kept.received_at,
        digest=kept.digest,
        arrived_digest=digest_of(arrived.body),
        log_number=kept.log_number,
        log_hash=hash_of_entry(connection, kept.log_number),
        standing=kept.standing,
        as_found=kept.as_found,
        as_left=kept.as_left,
        certificate=kept.certificate,
        flags=kept.flags,
        notes=_notes_again(arrived, kept.notes),
    )


def note_arrival(connection: Connection, arrived: Arrived, kind: str, site: str) -> None:
    """Write in the log that something on record arrived again, with its bytes as they came."""
    touched = (Touched("arrival", record_key(site, arrived.calibration)),)
    sealed = seal(connection, arrived.body)
    append_to_log(connection, Draft(kind, arrived.by_whom, arrived.received_at, touched, sealed))


def _notes_again(arrived: Arrived, kept: tuple[StoredFlag, ...]) -> tuple[StoredFlag, ...]:
    """The notes that were kept, and what has to be said of this arrival."""
    told = {note.code for note in kept}
    more = (note for note in arrived.unread if note.code not in told)
    return (*kept, *(StoredFlag(note.code, note.sentence, note.facts, note.pointer) for note in more))
