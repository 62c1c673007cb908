"""Exporting in tests: into memory, and read back by the standard library's own readers."""

import csv
import io
import json
import zipfile
from pathlib import Path
from typing import Any

from sqlalchemy import Engine

from api.cli.export_begun import up_to_now
from api.cli.export_here import ArchiveTarget, write_export
from api.records.export import ExportAsked

Lines = list[dict[str, Any]]


def exported(engine: Engine, asked: ExportAsked | None = None) -> bytes:
    """Return the archive of an export, of everything up to now where nothing else is asked."""
    file = io.BytesIO()
    write_export(engine, asked or up_to_now(engine, 0, None), ArchiveTarget(file), lambda done, of: None)
    return file.getvalue()


class Archive:
    """An archive as the standard library reads it."""

    def __init__(self, content: bytes) -> None:
        self.zip = zipfile.ZipFile(io.BytesIO(content))
        assert self.zip.testzip() is None
        self.manifest: dict[str, Any] = json.loads(self.zip.read("manifest.json"))

    def lines(self, path: str) -> Lines:
        """Return the lines of a file of lines."""
        return [json.loads(line) for line in self.zip.read(path).splitlines()]

    def table(self, path: str, delimiter: str = ",") -> list[dict[str, str]]:
        """Return the rows of a table."""
        text = self.zip.read(path).decode("utf-8-sig")
        return list(csv.DictReader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True))


def written(engine: Engine, folder: Path, asked: ExportAsked | None = None) -> Path:
    """Write the archive of an export into a folder, and return its path."""
    file = folder / "export.zip"
    file.write_bytes(exported(engine, asked))
    return file
