"""What happened to a device between calibrations: moved, dropped, repaired, reported, linked. Appended, never changed."""

from sqlalchemy import Column, Index, Integer, Table, Text

from api.models.metadata import METADATA, Moment

DEVICE_EVENT = Table(
    "device_event",
    METADATA,
    Column("site", Text, primary_key=True),
    Column("event", Text, primary_key=True),
    Column("place", Integer, primary_key=True, autoincrement=False),
    Column("kind", Text, nullable=False),
    Column("device_as_sent", Text),
    Column("device", Text),
    Column("happened_at", Moment, nullable=False),
    Column("recorded_at", Moment, nullable=False),
    Column("recorded_by", Text, nullable=False),
    Column("open", Integer, nullable=False),
    Column("document", Text, nullable=False),
    Index("ix_device_event_device_happened_at", "device", "happened_at"),
)
