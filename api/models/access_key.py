"""Keys of installations and persons: what each may do and where, its digest and never its text; revocations; last use.

A key and its revocation are kept as they are. When a key was last used is no record: it is written over, coarsely.
"""

from sqlalchemy import Column, ForeignKeyConstraint, Index, Table, Text

from api.models.metadata import CLUSTERED, METADATA, Moment

ACCESS_KEY = Table(
    "access_key",
    METADATA,
    Column("name", Text, primary_key=True),
    Column("held_by", Text, nullable=False),
    Column("holder", Text, nullable=False),
    Column("scopes", Text, nullable=False),
    Column("sites", Text),
    Column("digest", Text, nullable=False),
    Column("made_at", Moment, nullable=False),
    Column("made_by", Text, nullable=False),
    Column("expires_at", Moment, nullable=False),
    Index("ix_access_key_held_by_holder", "held_by", "holder"),
    **CLUSTERED,
)

KEY_REVOKED = Table(
    "key_revoked",
    METADATA,
    Column("name", Text, primary_key=True),
    Column("revoked_at", Moment, nullable=False),
    Column("revoked_by", Text, nullable=False),
    Column("because", Text, nullable=False),
    ForeignKeyConstraint(["name"], ["access_key.name"]),
    **CLUSTERED,
)

KEY_USED = Table(
    "key_used",
    METADATA,
    Column("name", Text, primary_key=True),
    Column("used_at", Moment, nullable=False),
    ForeignKeyConstraint(["name"], ["access_key.name"]),
    **CLUSTERED,
)
