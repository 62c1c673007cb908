"""An export written by this process: into a ZIP archive, or into a folder. The archive is the one that a job makes."""

from collections.abc import Callable
from pathlib import Path
from typing import IO, Protocol

from sqlalchemy import Engine

from api.cli.export_begun import begun, files_of
from api.exchange.export_segments import ENDED, FileInTheMaking, Place, next_cut, packed
from api.exchange.zip_layout import directory, local_header, placed
from api.records.export import ExportAsked, FileExported

Told = Callable[[int, int], None]


class Target(Protocol):
    """Where an export is written."""

    def write(self, path: str, text: bytes) -> int:
        """Write a segment of a file behind the segments before, and return how many bytes it takes packed."""

    def end(self, file: FileExported) -> None:
        """End a file."""

    def close(self) -> None:
        """End the export."""


class FolderTarget:
    """A folder with a file each."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._file: IO[bytes] | None = None

    def write(self, path: str, text: bytes) -> int:
        """Write a segment, as it is."""
        if self._file is None:
            file = self._folder / path
            file.parent.mkdir(parents=True, exist_ok=True)
            self._file = file.open("xb")
        self._file.write(text)
        return 0

    def end(self, file: FileExported) -> None:
        """End a file."""
        if self._file is not None:
            self._file.close()
        self._file = None

    def close(self) -> None:
        """Leave the folder."""


class ArchiveTarget:
    """A ZIP archive: each file's header is written over when its sums are known."""

    def __init__(self, file: IO[bytes]) -> None:
        self._file = file
        self._files: list[FileExported] = []
        self._begins: int | None = None

    def write(self, path: str, text: bytes) -> int:
        """Write a segment, packed."""
        if self._begins is None:
            self._begins = self._file.tell()
            self._file.write(local_header(FileExported(path, 0, 0, 0, 0, "")))
        return self._file.write(packed(text))

    def end(self, file: FileExported) -> None:
        """End a file: put its sums into its header."""
        self._file.write(ENDED)
        ends = self._file.tell()
        self._file.seek(self._begins or 0)
        self._file.write(local_header(file))
        self._file.seek(ends)
        self._files.append(file)
        self._begins = None

    def close(self) -> None:
        """Write the directory behind the files."""
        self._file.write(directory(placed(self._files)))


def write_export(engine: Engine, asked: ExportAsked, target: Target, told: Told) -> list[FileExported]:
    """Write everything that was asked for, and return the files; `told` hears how many sources are done, and of how many."""
    files: list[FileExported] = []
    sources = files_of(begun(engine, asked), lambda: files)
    place, making = Place(), None
    while place.source < len(sources):
        cut = next_cut(sources, place)
        making = making or FileInTheMaking(cut.path)
        making.add(cut.segment, target.write(cut.path, cut.segment.text))
        if cut.ends_file:
            files.append(making.whole())
            target.end(files[-1])
            making = None
        place = cut.next
        told(place.source, len(sources))
    target.close()
    return files
