"""Record that a device was sent for repair, or came back: open until it is calibrated."""

from sqlalchemy import Connection

from api.database import sites_in_sight
from api.keeping.content import Arrived
from api.keeping.device_change import device_to_change, site_of_device
from api.keeping.device_event import MadeOfIt, happened, keep_event, known_before, receipt_of, touched_by
from api.keeping.event_flags import flags_of_event
from api.keeping.log import Draft, append_to_log
from api.keeping.record_in_hand import check_words
from api.records.device_event import EventReceipt
from api.records.event_sent import Repair


def record_repair(connection: Connection, arrived: Arrived, sent: Repair, tag: str) -> EventReceipt:
    """Keep one stage of a repair and return its receipt.

    Refuses as `device_to_change` does, other content under an id that is taken (`ContentDiffers`), and words that look as if
    they named a person (`NamesAPerson`).
    """
    check_words(sent.words)
    site = site_of_device(connection, tag, arrived, sent.happened_at)
    told = happened(connection, arrived, site, "repair", sent.stage, tag, sent.happened_at)
    if (before := known_before(connection, told)) is not None:
        return before
    device = device_to_change(connection, told, sites_in_sight(connection))
    _, flags = flags_of_event(connection, arrived, site, tag, sent.happened_at)
    sealed = keep_event(connection, told, MadeOfIt(device.key, flags))
    kind = "device sent for repair" if sent.stage == "sent" else "device back from repair"
    append_to_log(connection, Draft(kind, arrived.by_whom, arrived.received_at, touched_by(told), sealed))
    return receipt_of(connection, told, replayed=False)
