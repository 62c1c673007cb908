"""Report trouble with a scale: kept under an id of its own, whatever the register knows of the tag. It counts at once."""

from sqlalchemy import Connection

from api.keeping.content import Arrived
from api.keeping.device_event import MadeOfIt, happened, keep_event, known_before, receipt_of, touched_by
from api.keeping.event_flags import flags_of_event
from api.keeping.log import Draft, append_to_log
from api.records.device_event import EventReceipt
from api.records.event_sent import TroubleReport


def report_trouble(connection: Connection, arrived: Arrived, sent: TroubleReport, tag: str) -> EventReceipt:
    """Keep a report and return its receipt; the same content again returns the first receipt, marked replayed.

    Refuses other content under an id that is taken (`ContentDiffers`); nothing is changed then.
    """
    told = happened(connection, arrived, sent.site, "report", sent.kind, tag, sent.happened_at)
    if (before := known_before(connection, told)) is not None:
        return before
    device, flags = flags_of_event(connection, arrived, sent.site, tag, sent.happened_at)
    sealed = keep_event(connection, told, MadeOfIt(device.key if device else None, flags))
    append_to_log(
        connection,
        Draft("trouble reported", arrived.by_whom, arrived.received_at, touched_by(told), sealed),
    )
    return receipt_of(connection, told, replayed=False)
