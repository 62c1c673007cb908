"""Labels are kept.

The labels stuck on scales after visits, and what happened to each: two tables whose rows are kept for ever, with the triggers
that refuse any change. There are no old rows.

Revision: 0009
After: 0008
"""

import sqlalchemy as sa
from alembic import op

revision = "0009"
down_revision = "0008"
branch_labels = None
depends_on = None

KEPT = ("label", "label_event")


def upgrade() -> None:
    op.create_table(
        "label",
        sa.Column("site", sa.Text(), nullable=False),
        sa.Column("label", sa.Text(), nullable=False),
        sa.Column("device_as_sent", sa.Text(), nullable=False),
        sa.Column("calibration", sa.Text(), nullable=False),
        sa.Column("stuck_at", sa.Text(), nullable=False),
        sa.Column("received_at", sa.Text(), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.Column("flags", sa.Text(), nullable=False),
        sa.Column("sealed", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["sealed"], ["sealed.digest"], name=op.f("fk_label_sealed")),
        sa.PrimaryKeyConstraint("site", "label", name=op.f("pk_label")),
        sqlite_with_rowid=False,
    )
    op.create_index("ix_label_device_as_sent_stuck_at", "label", ["device_as_sent", "stuck_at"])
    op.create_table(
        "label_event",
        sa.Column("site", sa.Text(), nullable=False),
        sa.Column("label", sa.Text(), nullable=False),
        sa.Column("event", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("happened_at", sa.Text(), nullable=False),
        sa.Column("by_whom", sa.Text(), nullable=False),
        sa.Column("received_at", sa.Text(), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.Column("sealed", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["site", "label"], ["label.site", "label.label"], name=op.f("fk_label_event_site")),
        sa.ForeignKeyConstraint(["sealed"], ["sealed.digest"], name=op.f("fk_label_event_sealed")),
        sa.PrimaryKeyConstraint("site", "label", "event", name=op.f("pk_label_event")),
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
    op.drop_table("label_event")
    op.drop_index("ix_label_device_as_sent_stuck_at", "label")
    op.drop_table("label")
