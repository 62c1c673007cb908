"""The one log of all writes: its head, its entries, what each touched, and the bytes that were sealed."""

from sqlalchemy import Column, ForeignKeyConstraint, Index, Integer, LargeBinary, Table, Text

from api.models.metadata import CLUSTERED, METADATA, Moment

# One row a log. Its lock gives entries their order of commit, without gaps. `register_number` is the last entry that
# changed the register: what was read from it before holds until this moves.
LOG_HEAD = Table(
    "log_head",
    METADATA,
    Column("log", Text, primary_key=True),
    Column("number", Integer, nullable=False),
    Column("register_number", Integer, nullable=False),
    Column("hash", Text, nullable=False),
    Column("moment", Moment, nullable=False),
    **CLUSTERED,
)

LOG_ENTRY = Table(
    "log_entry",
    METADATA,
    Column("log", Text, primary_key=True),
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("kind", Text, nullable=False),
    Column("by_whom", Text, nullable=False),
    Column("moment", Moment, nullable=False),
    Column("digest", Text, nullable=False),
    Column("facts", Text, nullable=False),
    Column("previous", Text, nullable=False),
    Column("hash", Text, nullable=False),
    **CLUSTERED,
)

LOG_TOUCH = Table(
    "log_touch",
    METADATA,
    Column("log", Text, primary_key=True),
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("kind", Text, primary_key=True),
    Column("key", Text, primary_key=True),
    Column("revision", Integer),
    ForeignKeyConstraint(["log", "number"], ["log_entry.log", "log_entry.number"]),
    Index("ix_log_touch_kind_key_number", "kind", "key", "number"),
    **CLUSTERED,
)

# Apart from entries and contents, known by the salted digest that stands in them: a recorded redaction can remove bytes
# for ever while every hash still verifies.
SEALED = Table(
    "sealed",
    METADATA,
    Column("digest", Text, primary_key=True),
    Column("salt", LargeBinary),
    Column("content", LargeBinary),
)
