"""Exports that were asked for, and the packed segments they are made of. No record: they are kept for a time only."""

from sqlalchemy import BigInteger, Column, ForeignKeyConstraint, Index, Integer, LargeBinary, Table, Text

from api.models.metadata import METADATA, Moment

FILE_EXPORT = Table(
    "file_export",
    METADATA,
    Column("file_export", Text, primary_key=True),
    Column("log_number", Integer, nullable=False),
    Column("since", Integer, nullable=False),
    Column("sites", Text),
    Column("asked_at", Moment, nullable=False),
    Column("asked_by", Text, nullable=False),
    Column("kept_until", Moment, nullable=False),
    Column("job", Text, nullable=False),
    Column("files", Text, nullable=False),
    Column("size", BigInteger),
    Column("digest", Text),
    Index("ix_file_export_asked_at", "asked_at"),
)

# A file's segments one behind the other are one packed stream; `file` is its place among the files, from 0.
EXPORT_PIECE = Table(
    "export_piece",
    METADATA,
    Column("file_export", Text, primary_key=True),
    Column("file", Integer, primary_key=True, autoincrement=False),
    Column("place", Integer, primary_key=True, autoincrement=False),
    Column("content", LargeBinary, nullable=False),
    ForeignKeyConstraint(["file_export"], ["file_export.file_export"]),
)
