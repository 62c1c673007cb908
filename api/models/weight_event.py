"""What happened to weights between their certificates. Appended, never changed.

`site` is the site that told it and leads the key. What was sent lies in `sealed`. `happened_at` is the moment that decides,
in UTC: corrected where the clocks were apart, never after it was received; `happened_on` its day at the place. What follows
for a piece is derived.
"""

from sqlalchemy import Column, ForeignKeyConstraint, Index, Table, Text

from api.models.metadata import CLUSTERED, METADATA, Day, Moment

WEIGHT_EVENT = Table(
    "weight_event",
    METADATA,
    Column("site", Text, primary_key=True),
    Column("event", Text, primary_key=True),
    Column("kind", Text, nullable=False),
    Column("weight_set", Text),
    Column("happened_at", Moment, nullable=False),
    Column("happened_on", Day, nullable=False),
    Column("sent_at", Moment),
    Column("received_at", Moment, nullable=False),
    Column("recorded_by", Text, nullable=False),
    Column("flags", Text, nullable=False),
    Column("verdict", Text),
    Column("comparison", Text),
    Column("sealed", Text, nullable=False),
    ForeignKeyConstraint(["sealed"], ["sealed.digest"]),
    Index("ix_weight_event_weight_set_happened_at", "weight_set", "happened_at"),
)

# The pieces that an event names: what speaks of a piece is looked up for every load it stands in.
WEIGHT_EVENT_PIECE = Table(
    "weight_event_piece",
    METADATA,
    Column("piece", Text, primary_key=True),
    Column("site", Text, primary_key=True),
    Column("event", Text, primary_key=True),
    ForeignKeyConstraint(["site", "event"], ["weight_event.site", "weight_event.event"]),
    **CLUSTERED,
)
