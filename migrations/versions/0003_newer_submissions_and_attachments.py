"""Newer submissions are kept in quarantine, and attachments by their digest.

Two tables whose rows are kept for ever, with the triggers that refuse any change. There are no old rows.

Revision: 0003
After: 0002
"""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None

KEPT = ("quarantine", "attachment")


def upgrade() -> None:
    op.create_table(
        "quarantine",
        sa.Column("site", sa.Text(), nullable=False),
        sa.Column("calibration", sa.Text(), nullable=False),
        sa.Column("schema", sa.Text(), nullable=False),
        sa.Column("device_as_sent", sa.Text(), nullable=True),
        sa.Column("received_at", sa.Text(), nullable=False),
        sa.Column("received_by", sa.Text(), nullable=False),
        sa.Column("sent_at", sa.Text(), nullable=True),
        sa.Column("unread", sa.Text(), nullable=False),
        sa.Column("sealed", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["sealed"], ["sealed.digest"], name=op.f("fk_quarantine_sealed")),
        sa.PrimaryKeyConstraint("site", "calibration", name=op.f("pk_quarantine")),
        sqlite_with_rowid=False,
    )
    op.create_table(
        "attachment",
        sa.Column("site", sa.Text(), nullable=False),
        sa.Column("digest", sa.Text(), nullable=False),
        sa.Column("media_type", sa.Text(), nullable=False),
        sa.Column("size", sa.Integer(), nullable=False),
        sa.Column("received_at", sa.Text(), nullable=False),
        sa.Column("received_by", sa.Text(), nullable=False),
        sa.Column("sealed", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["sealed"], ["sealed.digest"], name=op.f("fk_attachment_sealed")),
        sa.PrimaryKeyConstraint("site", "digest", name=op.f("pk_attachment")),
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
    """By the function that the record began with."""
    return [
        f"CREATE TRIGGER {table}_is_{word} BEFORE {when} EXECUTE FUNCTION refuse_change()"
        for table in KEPT
        for word, when in (
            ("kept", f"UPDATE OR DELETE ON {table} FOR EACH ROW"),
            ("not_emptied", f"TRUNCATE ON {table}"),
        )
    ]


def downgrade() -> None:
    op.drop_table("attachment")
    op.drop_table("quarantine")
