"""Finish an export: the size and digest of the archive of all its files."""

from sqlalchemy import Connection, update

from api.models.file_export import FILE_EXPORT


def finish_export(connection: Connection, name: str, size: int, digest: str) -> None:
    """Keep what the archive of an export is known by; from here on it can be fetched."""
    connection.execute(update(FILE_EXPORT).where(FILE_EXPORT.c.file_export == name).values(size=size, digest=digest))
