"""What happened to a device between calibrations: reported, checked, moved, in another state, limited, repaired.

Appended, never changed. `site` leads every key. What was sent lies in `sealed`; `device` is nullable beside the tag as sent.
`happened_at` is the moment that decides, in UTC: corrected where the clocks were apart, never after the event was received.
Whether an event is open is derived; only a person's closing is a row of its own.
"""

from sqlalchemy import Column, ForeignKeyConstraint, Index, Integer, Table, Text

from api.models.metadata import CLUSTERED, METADATA, Day, Figures, Moment


def _of_event() -> ForeignKeyConstraint:
    return ForeignKeyConstraint(["site", "event"], ["device_event.site", "device_event.event"])


DEVICE_EVENT = Table(
    "device_event",
    METADATA,
    Column("site", Text, primary_key=True),
    Column("event", Text, primary_key=True),
    Column("kind", Text, nullable=False),
    Column("what", Text, nullable=False),
    Column("device_as_sent", Text, nullable=False),
    Column("device", Text),
    Column("happened_at", Moment, nullable=False),
    Column("happened_on", Day, nullable=False),
    Column("received_at", Moment, nullable=False),
    Column("recorded_by", Text, nullable=False),
    Column("verdict", Text),
    Column("flags", Text, nullable=False),
    Column("notes", Text, nullable=False),
    Column("working", Text),
    Column("sealed", Text, nullable=False),
    ForeignKeyConstraint(["sealed"], ["sealed.digest"]),
    Index("ix_device_event_device_as_sent_happened_at", "device_as_sent", "happened_at"),
)

DEVICE_EVENT_ARRIVAL = Table(
    "device_event_arrival",
    METADATA,
    Column("site", Text, primary_key=True),
    Column("event", Text, primary_key=True),
    Column("place", Integer, primary_key=True, autoincrement=False),
    Column("sent_at", Moment),
    Column("received_at", Moment, nullable=False),
    Column("offset_seconds", Figures),
    _of_event(),
    **CLUSTERED,
)

DEVICE_EVENT_CLOSING = Table(
    "device_event_closing",
    METADATA,
    Column("site", Text, primary_key=True),
    Column("event", Text, primary_key=True),
    Column("words", Text, nullable=False),
    Column("closed_by", Text, nullable=False),
    Column("closed_at", Moment, nullable=False),
    _of_event(),
    **CLUSTERED,
)
