"""The labels stuck on scales, and what happened to each. Appended, never changed; whether one is still right is derived.

`site` is that of the visit and leads every key; `device_as_sent` the tag printed on it. What was sent lies in `sealed`.
"""

from sqlalchemy import Column, ForeignKeyConstraint, Index, Table, Text

from api.models.metadata import CLUSTERED, METADATA, Moment

LABEL = Table(
    "label",
    METADATA,
    Column("site", Text, primary_key=True),
    Column("label", Text, primary_key=True),
    Column("device_as_sent", Text, nullable=False),
    Column("calibration", Text, nullable=False),
    Column("stuck_at", Moment, nullable=False),
    Column("received_at", Moment, nullable=False),
    Column("recorded_by", Text, nullable=False),
    Column("flags", Text, nullable=False),
    Column("sealed", Text, nullable=False),
    ForeignKeyConstraint(["sealed"], ["sealed.digest"]),
    Index("ix_label_device_as_sent_stuck_at", "device_as_sent", "stuck_at"),
    **CLUSTERED,
)

LABEL_EVENT = Table(
    "label_event",
    METADATA,
    Column("site", Text, primary_key=True),
    Column("label", Text, primary_key=True),
    Column("event", Text, primary_key=True),
    Column("kind", Text, nullable=False),
    Column("happened_at", Moment, nullable=False),
    Column("by_whom", Text, nullable=False),
    Column("received_at", Moment, nullable=False),
    Column("recorded_by", Text, nullable=False),
    Column("sealed", Text, nullable=False),
    ForeignKeyConstraint(["site", "label"], ["label.site", "label.label"]),
    ForeignKeyConstraint(["sealed"], ["sealed.digest"]),
    **CLUSTERED,
)
