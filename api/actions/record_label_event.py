"""Record what happened to a label: printed again, void, taken off. Create-only."""

from sqlalchemy import Connection

from api.keeping.content import Arrived
from api.keeping.label import keep_label_event
from api.keeping.replay import note_arrival, refuse_other_content
from api.queries.labels import label_event_sent
from api.records.label import LabelEventSent, StoredLabel


def record_label_event(connection: Connection, arrived: Arrived, on: StoredLabel, sent: LabelEventSent) -> bool:
    """Record an event of a label and return whether it is new; the same content again changes nothing.

    Refuses other content under an id that is taken (`ContentDiffers`).
    """
    known = label_event_sent(connection, on.site, on.label, arrived.calibration)
    if known is None:
        keep_label_event(connection, arrived, on, sent)
        return True
    refuse_other_content(arrived, known, "Event")
    note_arrival(connection, arrived, "event of a label arrived again", on.site)
    return False
