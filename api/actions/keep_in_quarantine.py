"""Keep a submission whose schema this program does not know yet: its bytes for good, judged by a later program."""

from sqlalchemy import Connection, insert

from api.database import Prepared
from api.keeping.content import Arrived
from api.keeping.log import Draft, append_to_log, seal
from api.keeping.replay import note_arrival, refuse_other_content, replayed
from api.ledger.digests import digest_of
from api.models.quarantine import QUARANTINE
from api.queries.calibrations import record_key
from api.queries.content import content_sent
from api.queries.log import hash_of_entry
from api.queries.quarantine import TOUCHED, find_in_quarantine
from api.records.calibration import Receipt
from api.records.log import Touched
from api.records.quarantine import NewerSubmission, QuarantinedArrival, QuarantineReceipt

_KEEP = Prepared(insert(QUARANTINE))


def keep_in_quarantine(connection: Connection, arrived: Arrived, sent: NewerSubmission) -> Receipt | QuarantineReceipt:
    """Keep a newer submission and return its receipt; the same content again returns the first, marked replayed.

    Once it was taken up, its first receipt is that of the calibration it became. Refuses other content under an id that is
    taken (`ContentDiffers`); nothing is changed then.
    """
    if (judged := content_sent(connection, sent.site, arrived.calibration)) is not None:
        return replayed(connection, arrived, sent.site, judged)
    known = find_in_quarantine(connection, sent.site, arrived.calibration)
    if known is not None:
        return _replayed(connection, arrived, known)
    sealed = seal(connection, arrived.body)
    _KEEP.run(
        connection,
        {
            "site": sent.site, "calibration": arrived.calibration, "schema": sent.schema, "device_as_sent": sent.device,
            "received_at": arrived.received_at.isoformat(), "received_by": arrived.by_whom,
            "sent_at": arrived.sent_at.isoformat() if arrived.sent_at else None,
            "unread": ",".join(note.code for note in arrived.unread), "sealed": sealed,
        },
    )  # fmt: skip
    touched = (Touched(TOUCHED, record_key(sent.site, arrived.calibration)), Touched("site", sent.site))
    head = append_to_log(
        connection, Draft("submission kept in quarantine", arrived.by_whom, arrived.received_at, touched, sealed)
    )
    digest = digest_of(arrived.body)
    return QuarantineReceipt(
        arrived.calibration, sent.site, sent.schema, False, arrived.received_at, digest, digest, head.number, head.hash
    )


def _replayed(connection: Connection, arrived: Arrived, known: QuarantinedArrival) -> QuarantineReceipt:
    refuse_other_content(arrived, known.body)
    told = known.told
    note_arrival(connection, arrived, "submission arrived again", told.site)
    return QuarantineReceipt(
        told.calibration, told.site, told.schema, True, told.received_at, told.digest, digest_of(arrived.body),
        told.log_number, hash_of_entry(connection, told.log_number),
    )  # fmt: skip
