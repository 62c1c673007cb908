"""An export read back, from an archive or a folder: its manifest, and its files, each held against its digest."""

import hashlib
import json
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from fnmatch import fnmatch
from pathlib import Path
from typing import IO, Any, Final

from api.exchange.manifest import PATH, VERSION

_PIECE: Final = 1024 * 1024


class NotAnExport(Exception):
    """What was given is not an export of this service, or not whole; the text says what was found."""


class ExportRead:
    """One export, opened."""

    def __init__(self, at: Path) -> None:
        self._at = at
        self._archive = None if at.is_dir() else zipfile.ZipFile(at)
        try:
            self.manifest: dict[str, Any] = json.loads(b"".join(self._pieces(PATH)))
        except (OSError, KeyError, ValueError):
            raise NotAnExport(f"{at.name} holds no {PATH} that can be read.") from None
        if not isinstance(self.manifest, dict) or self.manifest.get("version") != VERSION:
            raise NotAnExport(f"{at.name} is no export of this form; accepted: {VERSION}.")
        self._files = {str(file["path"]): file for file in self.manifest["files"]}

    def close(self) -> None:
        """Close it."""
        if self._archive is not None:
            self._archive.close()

    def named(self, pattern: str) -> list[str]:
        """Return the paths that fit a pattern, as the manifest lists them."""
        return [path for path in self._files if fnmatch(path, pattern)]

    def copy(self, path: str, to: IO[bytes]) -> None:
        """Write a file out, checked against its digest. Refuses one that differs from it (`NotAnExport`)."""
        digest = hashlib.sha256()
        try:
            for piece in self._pieces(path, self._files[path]["size"]):
                digest.update(piece)
                to.write(piece)
        except (OSError, KeyError, zipfile.BadZipFile) as error:
            raise NotAnExport(f"{path} cannot be read: {error}") from None
        if f"sha256:{digest.hexdigest()}" != self._files[path]["digest"]:
            raise NotAnExport(f"{path} is not the file that the manifest names: its digest is another.")

    def _pieces(self, path: str, most: int | None = None) -> Iterator[bytes]:
        """The bytes of a file; no more than its size and one, so that what swells is seen at once."""
        left = None if most is None else most + 1
        with self._opened(path) as file:
            while piece := file.read(_PIECE if left is None else min(_PIECE, left)):
                left = None if left is None else left - len(piece)
                yield piece

    @contextmanager
    def _opened(self, path: str) -> Iterator[IO[bytes]]:
        if self._archive is not None:
            with self._archive.open(path) as member:
                yield member
            return
        file = (self._at / path).resolve()
        if not file.is_relative_to(self._at.resolve()):
            raise NotAnExport(f"{path} lies outside the export.")
        with file.open("rb") as opened:
            yield opened


def is_export(at: Path) -> bool:
    """Return whether a path is an export, by its manifest: a folder, or an archive of the ZIP format."""
    if at.is_dir():
        return (at / PATH).is_file()
    if not zipfile.is_zipfile(at):
        return False
    with zipfile.ZipFile(at) as archive:
        return PATH in archive.namelist()
