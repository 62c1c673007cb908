"""Events of a device are kept as they were sent.

What happened to a device between calibrations, each arrival of it, and a person's closing. The table of the first revision
had no writer, so it is empty, and makes room.

Revision: 0006
After: 0005
"""

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None

KEPT = ("device_event_arrival", "device_event_closing")
MADE_ANEW = ("device_event", *KEPT)


def upgrade() -> None:
    op.drop_index("ix_device_event_device_happened_at", "device_event")
    op.drop_table("device_event")
    op.create_table(
        "device_event",
        sa.Column("site", sa.Text(), nullable=False),
        sa.Column("event", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("what", sa.Text(), nullable=False),
        sa.Column("device_as_sent", sa.Text(), nullable=False),
        sa.Column("device", sa.Text(), nullable=True),
        sa.Column("happened_at", sa.Text(), nullable=False),
        sa.Column("happened_on", sa.Text(), nullable=False),
        sa.Column("received_at", sa.Text(), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.Column("verdict", sa.Text(), nullable=True),
        sa.Column("flags", sa.Text(), nullable=False),
        sa.Column("notes", sa.Text(), nullable=False),
        sa.Column("working", sa.Text(), nullable=True),
        sa.Column("sealed", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["sealed"], ["sealed.digest"], name=op.f("fk_device_event_sealed")),
        sa.PrimaryKeyConstraint("site", "event", name=op.f("pk_device_event")),
    )
    op.create_index("ix_device_event_device_as_sent_happened_at", "device_event", ["device_as_sent", "happened_at"])
    op.create_table(
        "device_event_arrival",
        sa.Column("site", sa.Text(), nullable=False),
        sa.Column("event", sa.Text(), nullable=False),
        sa.Column("place", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("sent_at", sa.Text(), nullable=True),
        sa.Column("received_at", sa.Text(), nullable=False),
        sa.Column("offset_seconds", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(
            ["site", "event"],
            ["device_event.site", "device_event.event"],
            name=op.f("fk_device_event_arrival_site"),
        ),
        sa.PrimaryKeyConstraint("site", "event", "place", name=op.f("pk_device_event_arrival")),
        sqlite_with_rowid=False,
    )
    op.create_table(
        "device_event_closing",
        sa.Column("site", sa.Text(), nullable=False),
        sa.Column("event", sa.Text(), nullable=False),
        sa.Column("words", sa.Text(), nullable=False),
        sa.Column("closed_by", sa.Text(), nullable=False),
        sa.Column("closed_at", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["site", "event"],
            ["device_event.site", "device_event.event"],
            name=op.f("fk_device_event_closing_site"),
        ),
        sa.PrimaryKeyConstraint("site", "event", name=op.f("pk_device_event_closing")),
        sqlite_with_rowid=False,
    )
    _keep(*MADE_ANEW)


def _keep(*tables: str) -> None:
    for statement in (_postgresql if op.get_bind().dialect.name == "postgresql" else _sqlite)(tables):
        op.execute(statement)


def _sqlite(tables: tuple[str, ...]) -> list[str]:
    return [
        f"CREATE TRIGGER {table}_keeps_{change.lower()} BEFORE {change} ON {table} "
        f"BEGIN SELECT RAISE(ABORT, 'rows of {table} are kept as they are'); END"
        for table in tables
        for change in ("UPDATE", "DELETE")
    ]


def _postgresql(tables: tuple[str, ...]) -> list[str]:
    """The function stands since the record began; triggers go with their tables."""
    act = "EXECUTE FUNCTION refuse_change()"
    return [
        statement
        for table in tables
        for statement in (
            f"CREATE TRIGGER {table}_is_kept BEFORE UPDATE OR DELETE ON {table} FOR EACH ROW {act}",
            f"CREATE TRIGGER {table}_is_not_emptied BEFORE TRUNCATE ON {table} {act}",
        )
    ]


def downgrade() -> None:
    op.drop_table("device_event_closing")
    op.drop_table("device_event_arrival")
    op.drop_index("ix_device_event_device_as_sent_happened_at", "device_event")
    op.drop_table("device_event")
    op.create_table(
        "device_event",
        sa.Column("site", sa.Text(), nullable=False),
        sa.Column("event", sa.Text(), nullable=False),
        sa.Column("place", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("device_as_sent", sa.Text(), nullable=True),
        sa.Column("device", sa.Text(), nullable=True),
        sa.Column("happened_at", sa.Text(), nullable=False),
        sa.Column("recorded_at", sa.Text(), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.Column("open", sa.Integer(), nullable=False),
        sa.Column("document", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("site", "event", "place", name=op.f("pk_device_event")),
    )
    op.create_index("ix_device_event_device_happened_at", "device_event", ["device", "happened_at"])
    _keep("device_event")
