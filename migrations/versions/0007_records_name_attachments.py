"""Records name attachments.

Which content names which attachment by its digest, so that what shows a record is known when its attachment arrives later.
There are no old rows: nothing that was sent before could name any.

Revision: 0007
After: 0006
"""

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None

KEPT = ("attachment_named",)


def upgrade() -> None:
    op.create_table(
        "attachment_named",
        sa.Column("site", sa.Text(), nullable=False),
        sa.Column("calibration", sa.Text(), nullable=False),
        sa.Column("revision", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("place", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("digest", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["site", "calibration", "revision"],
            ["content.site", "content.calibration", "content.revision"],
            name=op.f("fk_attachment_named_site"),
        ),
        sa.PrimaryKeyConstraint("site", "calibration", "revision", "place", name=op.f("pk_attachment_named")),
        sqlite_with_rowid=False,
    )
    op.create_index("ix_attachment_named_site_digest", "attachment_named", ["site", "digest"])
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
    op.drop_index("ix_attachment_named_site_digest", "attachment_named")
    op.drop_table("attachment_named")
