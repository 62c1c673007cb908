"""Record a check in service: judged at once, kept with its working. One that fails counts at once; none raises use."""

from sqlalchemy import Connection

from api.keeping.check_on_file import check_on_file
from api.keeping.content import Arrived
from api.keeping.device_event import happened, keep_event, known_before, receipt_of, touched_by
from api.keeping.log import Draft, append_to_log
from api.ledger.digests import digest_of, stored_bytes
from api.records.device_event import EventReceipt
from api.records.event_sent import InServiceCheck


def record_check(connection: Connection, arrived: Arrived, sent: InServiceCheck) -> EventReceipt:
    """Keep a check and return its receipt; the same content again returns the first receipt, marked replayed.

    Refuses other content under an id that is taken (`ContentDiffers`); nothing is changed then.
    """
    told = happened(connection, arrived, sent.site, "check", "in service", sent.device, sent.happened_at)
    if (before := known_before(connection, told)) is not None:
        return before
    made = check_on_file(connection, arrived, sent)
    sealed = keep_event(connection, told, made)
    digests = {"judgement": digest_of(stored_bytes(made.working))} if made.working else {}
    draft = Draft("check in service", arrived.by_whom, arrived.received_at, touched_by(told), sealed, digests)
    append_to_log(connection, draft)
    return receipt_of(connection, told, replayed=False)
