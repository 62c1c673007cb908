"""Attachments of records, by site and the digest of their bytes; the bytes themselves are sealed."""

from sqlalchemy import Column, ForeignKeyConstraint, Integer, Table, Text

from api.models.metadata import CLUSTERED, METADATA, Moment

ATTACHMENT = Table(
    "attachment",
    METADATA,
    Column("site", Text, primary_key=True),
    Column("digest", Text, primary_key=True),
    Column("media_type", Text, nullable=False),
    Column("size", Integer, nullable=False),
    Column("received_at", Moment, nullable=False),
    Column("received_by", Text, nullable=False),
    Column("sealed", Text, nullable=False),
    ForeignKeyConstraint(["sealed"], ["sealed.digest"]),
    **CLUSTERED,
)
