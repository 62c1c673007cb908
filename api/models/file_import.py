"""Files of old records on their way into the record, what came of their rows, and where each imported record comes from.

What an import is working on may be thrown away later, as jobs may; where a record comes from is kept as it is.
"""

from sqlalchemy import Column, ForeignKeyConstraint, Index, Integer, LargeBinary, Table, Text

from api.models.metadata import CLUSTERED, METADATA, Moment

FILE_IMPORT = Table(
    "file_import",
    METADATA,
    Column("file_import", Text, primary_key=True),
    Column("name", Text, nullable=False),
    Column("state", Text, nullable=False),
    Column("mode", Text, nullable=False),
    Column("reject_limit", Integer, nullable=False),
    Column("sites", Text),
    Column("profile", Text, nullable=False),
    Column("profile_revision", Integer),
    Column("profile_digest", Text, nullable=False),
    Column("file_digest", Text, nullable=False),
    Column("file_bytes", Integer, nullable=False),
    Column("asked_at", Moment, nullable=False),
    Column("asked_by", Text, nullable=False),
    Column("look", Text),
    Column("attempt", Integer, nullable=False),
    Column("done", Integer, nullable=False),
    Column("counts", Text),
    Column("tried", Text),
    Column("rules", Text),
    Column("because", Text),
    Column("job", Text),
    Column("finished_at", Moment),
    Index("ix_file_import_asked_at", "asked_at"),
)

IMPORT_PIECE = Table(
    "import_piece",
    METADATA,
    Column("file_import", Text, primary_key=True),
    Column("place", Integer, primary_key=True, autoincrement=False),
    Column("content", LargeBinary, nullable=False),
    ForeignKeyConstraint(["file_import"], ["file_import.file_import"]),
)

# An attempt is one going through the file: every trial and every commit is one.
IMPORT_ROW = Table(
    "import_row",
    METADATA,
    Column("file_import", Text, primary_key=True),
    Column("attempt", Integer, primary_key=True, autoincrement=False),
    Column("place", Integer, primary_key=True, autoincrement=False),
    Column("line", Integer, nullable=False),
    Column("last_line", Integer, nullable=False),
    Column("status", Text, nullable=False),
    Column("document", Text, nullable=False),
    ForeignKeyConstraint(["file_import"], ["file_import.file_import"]),
    **CLUSTERED,
)

IMPORTED = Table(
    "imported",
    METADATA,
    Column("site", Text, primary_key=True),
    Column("calibration", Text, primary_key=True),
    Column("revision", Integer, primary_key=True, autoincrement=False),
    Column("file_import", Text, nullable=False),
    Column("file_digest", Text, nullable=False),
    Column("line", Integer, nullable=False),
    Column("profile", Text, nullable=False),
    Column("profile_revision", Integer),
    Column("profile_digest", Text, nullable=False),
    Column("source_key", Text),
    Column("raw", Text, nullable=False),
    Column("lacks", Text, nullable=False),
    ForeignKeyConstraint(
        ["site", "calibration", "revision"], ["content.site", "content.calibration", "content.revision"]
    ),
    ForeignKeyConstraint(["raw"], ["sealed.digest"]),
    Index("ix_imported_file_import_line", "file_import", "line"),
    **CLUSTERED,
)
