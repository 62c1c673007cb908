"""Old records come from files.

Profiles by which files are read, files on their way into the record with what came of each row, and for each imported
record where it comes from. There are no old rows: what was recorded before was sent, not imported.

Revision: 0004
After: 0003
"""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None

KEPT = ("import_profile_revision", "imported")


def upgrade() -> None:
    op.create_table(
        "import_profile_revision",
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("revision", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("valid_from", sa.Text(), nullable=False),
        sa.Column("recorded_at", sa.Text(), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.Column("site", sa.Text(), nullable=True),
        sa.Column("document", sa.Text(), nullable=False),
        sa.Column("digest", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("key", "revision", name=op.f("pk_import_profile_revision")),
    )
    op.create_index("ix_import_profile_revision_site_valid_from", "import_profile_revision", ["site", "valid_from"])
    op.create_table(
        "file_import",
        sa.Column("file_import", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("mode", sa.Text(), nullable=False),
        sa.Column("reject_limit", sa.Integer(), nullable=False),
        sa.Column("sites", sa.Text(), nullable=True),
        sa.Column("profile", sa.Text(), nullable=False),
        sa.Column("profile_revision", sa.Integer(), nullable=True),
        sa.Column("profile_digest", sa.Text(), nullable=False),
        sa.Column("file_digest", sa.Text(), nullable=False),
        sa.Column("file_bytes", sa.Integer(), nullable=False),
        sa.Column("asked_at", sa.Text(), nullable=False),
        sa.Column("asked_by", sa.Text(), nullable=False),
        sa.Column("look", sa.Text(), nullable=True),
        sa.Column("attempt", sa.Integer(), nullable=False),
        sa.Column("done", sa.Integer(), nullable=False),
        sa.Column("counts", sa.Text(), nullable=True),
        sa.Column("tried", sa.Text(), nullable=True),
        sa.Column("rules", sa.Text(), nullable=True),
        sa.Column("because", sa.Text(), nullable=True),
        sa.Column("job", sa.Text(), nullable=True),
        sa.Column("finished_at", sa.Text(), nullable=True),
        sa.PrimaryKeyConstraint("file_import", name=op.f("pk_file_import")),
    )
    op.create_index("ix_file_import_asked_at", "file_import", ["asked_at"])
    op.create_table(
        "import_piece",
        sa.Column("file_import", sa.Text(), nullable=False),
        sa.Column("place", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("content", sa.LargeBinary(), nullable=False),
        sa.ForeignKeyConstraint(["file_import"], ["file_import.file_import"], name=op.f("fk_import_piece_file_import")),
        sa.PrimaryKeyConstraint("file_import", "place", name=op.f("pk_import_piece")),
    )
    op.create_table(
        "import_row",
        sa.Column("file_import", sa.Text(), nullable=False),
        sa.Column("attempt", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("place", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("line", sa.Integer(), nullable=False),
        sa.Column("last_line", sa.Integer(), nullable=False),
        sa.Column("status", sa.Text(), nullable=False),
        sa.Column("document", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["file_import"], ["file_import.file_import"], name=op.f("fk_import_row_file_import")),
        sa.PrimaryKeyConstraint("file_import", "attempt", "place", name=op.f("pk_import_row")),
        sqlite_with_rowid=False,
    )
    op.create_table(
        "imported",
        sa.Column("site", sa.Text(), nullable=False),
        sa.Column("calibration", sa.Text(), nullable=False),
        sa.Column("revision", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("file_import", sa.Text(), nullable=False),
        sa.Column("file_digest", sa.Text(), nullable=False),
        sa.Column("line", sa.Integer(), nullable=False),
        sa.Column("profile", sa.Text(), nullable=False),
        sa.Column("profile_revision", sa.Integer(), nullable=True),
        sa.Column("profile_digest", sa.Text(), nullable=False),
        sa.Column("source_key", sa.Text(), nullable=True),
        sa.Column("raw", sa.Text(), nullable=False),
        sa.Column("lacks", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["raw"], ["sealed.digest"], name=op.f("fk_imported_raw")),
        sa.ForeignKeyConstraint(
            ["site", "calibration", "revision"],
            ["content.site", "content.calibration", "content.revision"],
            name=op.f("fk_imported_site"),
        ),
        sa.PrimaryKeyConstraint("site", "calibration", "revision", name=op.f("pk_imported")),
        sqlite_with_rowid=False,
    )
    op.create_index("ix_imported_file_import_line", "imported", ["file_import", "line"])
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
    op.drop_index("ix_imported_file_import_line", "imported")
    op.drop_table("imported")
    op.drop_table("import_row")
    op.drop_table("import_piece")
    op.drop_index("ix_file_import_asked_at", "file_import")
    op.drop_table("file_import")
    op.drop_index("ix_import_profile_revision_site_valid_from", "import_profile_revision")
    op.drop_table("import_profile_revision")
