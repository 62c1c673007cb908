"""Exports are kept for a time.

What was asked for, and the packed segments it is made of. They are no record and may be thrown away; there are no old rows.

Revision: 0010
After: 0009
"""

import sqlalchemy as sa
from alembic import op

revision = "0010"
down_revision = "0009"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "file_export",
        sa.Column("file_export", sa.Text(), nullable=False),
        sa.Column("log_number", sa.Integer(), nullable=False),
        sa.Column("since", sa.Integer(), nullable=False),
        sa.Column("sites", sa.Text(), nullable=True),
        sa.Column("asked_at", sa.Text(), nullable=False),
        sa.Column("asked_by", sa.Text(), nullable=False),
        sa.Column("kept_until", sa.Text(), nullable=False),
        sa.Column("job", sa.Text(), nullable=False),
        sa.Column("files", sa.Text(), nullable=False),
        sa.Column("size", sa.BigInteger(), nullable=True),
        sa.Column("digest", sa.Text(), nullable=True),
        sa.PrimaryKeyConstraint("file_export", name=op.f("pk_file_export")),
    )
    op.create_index("ix_file_export_asked_at", "file_export", ["asked_at"])
    op.create_table(
        "export_piece",
        sa.Column("file_export", sa.Text(), nullable=False),
        sa.Column("file", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("place", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("content", sa.LargeBinary(), nullable=False),
        sa.ForeignKeyConstraint(["file_export"], ["file_export.file_export"], name=op.f("fk_export_piece_file_export")),
        sa.PrimaryKeyConstraint("file_export", "file", "place", name=op.f("pk_export_piece")),
    )


def downgrade() -> None:
    op.drop_table("export_piece")
    op.drop_index("ix_file_export_asked_at", "file_export")
    op.drop_table("file_export")
