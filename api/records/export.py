"""An export of everything: what was asked for, how far it is, and the files it comes to."""

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Annotated

from api.metrology.terms import Between
from api.records.job import JobState

# An archive may be larger than any other number that is told.
Bytes = Annotated[int, Between(Decimal(0), Decimal(2**53))]


@dataclass(frozen=True, slots=True)
class ExportAsked:
    """Which stretch of the log is exported, the entries after `since` up to `until`, of which sites; all where None."""

    since: int
    until: int
    sites: tuple[str, ...] | None


@dataclass(frozen=True, slots=True)
class FileExported:
    """One file of an export that is whole: its size as it is and as it is packed, check sum, digest and rows."""

    path: str
    rows: int
    size: int
    packed_size: int
    crc32: int
    digest: str


@dataclass(frozen=True, slots=True)
class ExportFile:
    """One file of an export as it is told: its path, how many rows it has, its size in bytes, its SHA-256 digest."""

    path: str
    rows: int
    size: Bytes
    digest: str


@dataclass(frozen=True, slots=True)
class FileExport:
    """One export: as of which log entry, of which sites, how far it is, its files, and the archive that holds them all.

    `done` counts the files that are whole. The archive's size and digest are known when all are.
    """

    file_export: str
    state: JobState
    log_number: int
    since: int
    asked_at: datetime
    asked_by: str
    kept_until: datetime
    job: str
    done: int
    files: tuple[ExportFile, ...] = ()
    sites: tuple[str, ...] | None = None
    size: Bytes | None = None
    digest: str | None = None
    finished_at: datetime | None = None
    because: str | None = None

    @property
    def is_unfinished(self) -> bool:
        """Whether more is to come of it."""
        return self.state in ("waiting", "taken")


@dataclass(frozen=True, slots=True)
class ExportRun:
    """Everything that work on an export needs: the export, and its files with their sums."""

    told: FileExport
    files: tuple[FileExported, ...]
