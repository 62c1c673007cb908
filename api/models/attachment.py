"""Attachments of records, by site and the digest of their bytes, which are sealed; and which contents name which.

Neither points at the other: a content may arrive before what it names, or after.
"""

from sqlalchemy import Column, ForeignKeyConstraint, Index, Integer, Table, Text

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

ATTACHMENT_NAMED = Table(
    "attachment_named",
    METADATA,
    Column("site", Text, primary_key=True),
    Column("calibration", Text, primary_key=True),
    Column("revision", Integer, primary_key=True, autoincrement=False),
    Column("place", Integer, primary_key=True, autoincrement=False),
    Column("digest", Text, nullable=False),
    ForeignKeyConstraint(
        ["site", "calibration", "revision"], ["content.site", "content.calibration", "content.revision"]
    ),
    Index("ix_attachment_named_site_digest", "site", "digest"),
    **CLUSTERED,
)
