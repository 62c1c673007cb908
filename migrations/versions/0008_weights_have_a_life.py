"""Weights have a life between their certificates.

What happened to pieces and sets, and which pieces each event names: two tables whose rows are kept for ever, with the
triggers that refuse any change. There are no old rows.

Revision: 0008
After: 0007
"""

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None

KEPT = ("weight_event", "weight_event_piece")


def upgrade() -> None:
    op.create_table(
        "weight_event",
        sa.Column("site", sa.Text(), nullable=False),
        sa.Column("event", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("weight_set", sa.Text(), nullable=True),
        sa.Column("happened_at", sa.Text(), nullable=False),
        sa.Column("happened_on", sa.Text(), nullable=False),
        sa.Column("sent_at", sa.Text(), nullable=True),
        sa.Column("received_at", sa.Text(), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.Column("flags", sa.Text(), nullable=False),
        sa.Column("verdict", sa.Text(), nullable=True),
        sa.Column("comparison", sa.Text(), nullable=True),
        sa.Column("sealed", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["sealed"], ["sealed.digest"], name=op.f("fk_weight_event_sealed")),
        sa.PrimaryKeyConstraint("site", "event", name=op.f("pk_weight_event")),
    )
    op.create_index("ix_weight_event_weight_set_happened_at", "weight_event", ["weight_set", "happened_at"])
    op.create_table(
        "weight_event_piece",
        sa.Column("piece", sa.Text(), nullable=False),
        sa.Column("site", sa.Text(), nullable=False),
        sa.Column("event", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["site", "event"], ["weight_event.site", "weight_event.event"], name=op.f("fk_weight_event_piece_site")
        ),
        sa.PrimaryKeyConstraint("piece", "site", "event", name=op.f("pk_weight_event_piece")),
        sqlite_with_rowid=False,
    )
    for statement in _postgresql_triggers() if op.get_bind().dialect.name == "postgresql" else _sqlite_triggers():
        op.execute(statement)


def _sqlite_triggers() -> list[str]:
    return [
        f"CREATE TRIGGER {table}_keeps_{change.lower()} BEFORE {change} ON {table} "
        f"BEGIN SELECT RAISE(ABORT, 'rows of {table} are kept as they are'); END"
        for table in KEPT
        for change in ("UPDATE", "DELETE")
    ]


def _postgresql_triggers() -> list[str]:
    """The function stands since the record began; triggers go with their tables."""
    act = "EXECUTE FUNCTION refuse_change()"
    return [
        statement
        for table in KEPT
        for statement in (
            f"CREATE TRIGGER {table}_is_kept BEFORE UPDATE OR DELETE ON {table} FOR EACH ROW {act}",
            f"CREATE TRIGGER {table}_is_not_emptied BEFORE TRUNCATE ON {table} {act}",
        )
    ]


def downgrade() -> None:
    op.drop_table("weight_event_piece")
    op.drop_index("ix_weight_event_weight_set_happened_at", "weight_event")
    op.drop_table("weight_event")
