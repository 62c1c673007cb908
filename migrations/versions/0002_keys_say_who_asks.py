"""Keys say who asks.

Keys of installations and persons with their revocations, which are kept as they are, and when each was last used, which
is written over. There are no old rows: whoever upgrades makes keys with `steelyard keys make`, or keeps the door open on
the machine itself.

Revision: 0002
After: 0001
"""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

KEPT = ("access_key", "key_revoked")


def upgrade() -> None:
    op.create_table(
        "access_key",
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("held_by", sa.Text(), nullable=False),
        sa.Column("holder", sa.Text(), nullable=False),
        sa.Column("scopes", sa.Text(), nullable=False),
        sa.Column("sites", sa.Text(), nullable=True),
        sa.Column("digest", sa.Text(), nullable=False),
        sa.Column("made_at", sa.Text(), nullable=False),
        sa.Column("made_by", sa.Text(), nullable=False),
        sa.Column("expires_at", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("name", name=op.f("pk_access_key")),
        sqlite_with_rowid=False,
    )
    with op.batch_alter_table("access_key", schema=None) as batch_op:
        batch_op.create_index("ix_access_key_held_by_holder", ["held_by", "holder"], unique=False)

    op.create_table(
        "key_revoked",
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("revoked_at", sa.Text(), nullable=False),
        sa.Column("revoked_by", sa.Text(), nullable=False),
        sa.Column("because", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["name"], ["access_key.name"], name=op.f("fk_key_revoked_name")),
        sa.PrimaryKeyConstraint("name", name=op.f("pk_key_revoked")),
        sqlite_with_rowid=False,
    )
    op.create_table(
        "key_used",
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("used_at", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["name"], ["access_key.name"], name=op.f("fk_key_used_name")),
        sa.PrimaryKeyConstraint("name", name=op.f("pk_key_used")),
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
    return [
        statement
        for table in KEPT
        for statement in (
            f"CREATE TRIGGER {table}_is_kept BEFORE UPDATE OR DELETE ON {table} FOR EACH ROW "
            "EXECUTE FUNCTION refuse_change()",
            f"CREATE TRIGGER {table}_is_not_emptied BEFORE TRUNCATE ON {table} EXECUTE FUNCTION refuse_change()",
        )
    ]


def downgrade() -> None:
    if op.get_bind().dialect.name == "postgresql":
        for table in KEPT:
            op.execute(f"DROP TRIGGER {table}_is_kept ON {table}")
            op.execute(f"DROP TRIGGER {table}_is_not_emptied ON {table}")
    op.drop_table("key_used")
    op.drop_table("key_revoked")
    with op.batch_alter_table("access_key", schema=None) as batch_op:
        batch_op.drop_index("ix_access_key_held_by_holder")

    op.drop_table("access_key")
