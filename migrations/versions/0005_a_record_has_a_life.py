"""A record has a life.

What is said of a record after it was kept: a reviewer's remarks, the words that close a flag, the codes that were linked
to the register later. An arrival names the revision that arrived; whatever arrived before was of the first.

Revision: 0005
After: 0004
"""

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None

KEPT = ("remark", "flag_answer", "link")
_SAID = ("by_whom", "moment")


def upgrade() -> None:
    op.add_column("arrival", sa.Column("revision", sa.Integer(), nullable=False, server_default="1"))
    op.create_table(
        "remark",
        *_key(),
        sa.Column("place", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("words", sa.Text(), nullable=False),
        *(sa.Column(name, sa.Text(), nullable=False) for name in _SAID),
        _of_content("remark"),
        sa.PrimaryKeyConstraint("site", "calibration", "revision", "place", name=op.f("pk_remark")),
        sqlite_with_rowid=False,
    )
    op.create_table(
        "flag_answer",
        *_key(),
        sa.Column("number", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("code", sa.Text(), nullable=False),
        sa.Column("words", sa.Text(), nullable=False),
        *(sa.Column(name, sa.Text(), nullable=False) for name in _SAID),
        sa.ForeignKeyConstraint(
            ["site", "calibration", "revision", "number"],
            ["judgement.site", "judgement.calibration", "judgement.revision", "judgement.number"],
            name=op.f("fk_flag_answer_site"),
        ),
        sa.PrimaryKeyConstraint("site", "calibration", "revision", "number", "code", name=op.f("pk_flag_answer")),
        sqlite_with_rowid=False,
    )
    op.create_table(
        "link",
        *_key(),
        sa.Column("place", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("as_sent", sa.Text(), nullable=False),
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("because", sa.Text(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        *(sa.Column(name, sa.Text(), nullable=False) for name in _SAID),
        _of_content("link"),
        sa.PrimaryKeyConstraint("site", "calibration", "revision", "place", name=op.f("pk_link")),
        sqlite_with_rowid=False,
    )
    op.create_index("ix_link_kind_key", "link", ["kind", "key"])
    for statement in _postgresql_triggers() if op.get_bind().dialect.name == "postgresql" else _sqlite_triggers():
        op.execute(statement)


def _key() -> list[sa.Column[str] | sa.Column[int]]:
    return [
        sa.Column("site", sa.Text(), nullable=False),
        sa.Column("calibration", sa.Text(), nullable=False),
        sa.Column("revision", sa.Integer(), autoincrement=False, nullable=False),
    ]


def _of_content(table: str) -> sa.ForeignKeyConstraint:
    return sa.ForeignKeyConstraint(
        ["site", "calibration", "revision"],
        ["content.site", "content.calibration", "content.revision"],
        name=op.f(f"fk_{table}_site"),
    )


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
    op.drop_index("ix_link_kind_key", "link")
    for table in reversed(KEPT):
        op.drop_table(table)
    op.drop_column("arrival", "revision")
