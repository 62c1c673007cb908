"""Submissions in a schema newer than this program: kept whole until a program that knows it takes them up."""

from sqlalchemy import Column, ForeignKeyConstraint, Table, Text

from api.models.metadata import CLUSTERED, METADATA, Moment

QUARANTINE = Table(
    "quarantine",
    METADATA,
    Column("site", Text, primary_key=True),
    Column("calibration", Text, primary_key=True),
    Column("schema", Text, nullable=False),
    Column("device_as_sent", Text),
    Column("received_at", Moment, nullable=False),
    Column("received_by", Text, nullable=False),
    Column("sent_at", Moment),
    Column("unread", Text, nullable=False),
    Column("sealed", Text, nullable=False),
    ForeignKeyConstraint(["sealed"], ["sealed.digest"]),
    **CLUSTERED,
)
