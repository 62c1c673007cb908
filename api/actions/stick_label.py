"""Record that a label was stuck on a scale. Create-only; whether it is right is derived whenever it is asked."""

from sqlalchemy import Connection

from api.keeping.content import Arrived
from api.keeping.label import keep_label
from api.keeping.replay import note_arrival, refuse_other_content
from api.ledger.label_ids import label_id
from api.queries.labels import label_sent
from api.records.label import LabelSent
from api.records.problems import LabelNotOfRecord


def stick_label(connection: Connection, arrived: Arrived, sent: LabelSent) -> bool:
    """Record a label and return whether it is new; the same content again changes nothing.

    Refuses an id that is not the one that its record and place make (`LabelNotOfRecord`), and other content under an id that
    is taken (`ContentDiffers`).
    """
    expected = label_id(sent.site, sent.calibration, sent.place)
    if arrived.calibration != expected:
        raise LabelNotOfRecord(
            f"Label {sent.place} of calibration {sent.calibration} at {sent.site} is {expected}, not {arrived.calibration}.",
            expected=expected, found=arrived.calibration,
        )  # fmt: skip
    known = label_sent(connection, sent.site, arrived.calibration)
    if known is None:
        keep_label(connection, arrived, sent)
        return True
    refuse_other_content(arrived, known, "Label")
    note_arrival(connection, arrived, "label arrived again", sent.site)
    return False
