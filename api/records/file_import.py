"""A file of old records on its way into the record: received, looked at, tried out, committed, and what came of it."""

from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, Final, Literal

from api.metrology.verdict import Verdict
from api.records.import_faults import Question, RowFault
from api.records.import_profile import ImportProfile, Layout
from api.records.import_visit import Lack

# received: it waits to be looked at. profiled: something is still to be declared. tried out: it waits for a person's word.
ImportState = Literal["received", "profiled", "tried out", "committing", "done", "failed", "given up", "undone"]
# all: the whole file or nothing of it. each: every row that can be kept, as long as no more are refused than the limit.
ImportMode = Literal["all", "each"]
RowStatus = Literal["created", "replayed", "noted", "rejected", "skipped"]
STATUSES: Final[tuple[RowStatus, ...]] = ("created", "replayed", "noted", "rejected", "skipped")
MOST_FIRST_LINES: Final = 3


@dataclass(frozen=True, slots=True)
class FaultGroup:
    """Faults and notes of one code: how often, and the first lines on which."""

    code: str
    severity: str
    count: int
    lines: tuple[int, ...]


@dataclass(slots=True)
class ImportCounts:
    """How many rows of the file, and how many visits, came to what. Every row read has one status, so the totals add up."""

    rows: dict[str, int] = field(default_factory=lambda: dict.fromkeys(STATUSES, 0))
    visits: dict[str, int] = field(default_factory=lambda: dict.fromkeys(STATUSES[:4], 0))
    groups: dict[str, list[Any]] = field(default_factory=dict)

    @property
    def read(self) -> int:
        """How many rows were read."""
        return sum(self.rows.values())

    def count(self, status: RowStatus, rows: int, faults: list[RowFault]) -> None:
        """Count one visit of some rows, or one skipped row."""
        self.rows[status] += rows
        if status != "skipped":
            self.visits[status] += 1
        for fault in faults:
            group = self.groups.setdefault(fault.code, [fault.severity, 0, []])
            group[1] += 1
            if len(group[2]) < MOST_FIRST_LINES and fault.line not in group[2]:
                group[2].append(fault.line)

    def told_groups(self) -> tuple[FaultGroup, ...]:
        """Return the faults by code, errors first, the most frequent first."""
        found = [FaultGroup(code, g[0], g[1], tuple(g[2])) for code, g in self.groups.items()]
        return tuple(sorted(found, key=lambda g: (g.severity != "error", -g.count, g.code)))


@dataclass(frozen=True, slots=True)
class RowTotals:
    """Rows of the file: read = created + replayed + noted + rejected + skipped."""

    read: int
    created: int
    replayed: int
    noted: int
    rejected: int
    skipped: int


@dataclass(frozen=True, slots=True)
class VisitTotals:
    """Visits that the rows make: new, on record already, new with a note, refused."""

    created: int
    replayed: int
    noted: int
    rejected: int


@dataclass(frozen=True, slots=True)
class ImportTotals:
    """What came of the rows and visits of a file, or would come of them, and the faults by code."""

    rows: RowTotals
    visits: VisitTotals
    faults: tuple[FaultGroup, ...]


def totals_of(counts: ImportCounts) -> ImportTotals:
    """Return counts as they are told."""
    return ImportTotals(RowTotals(counts.read, **counts.rows), VisitTotals(**counts.visits), counts.told_groups())


@dataclass(frozen=True, slots=True)
class FileImport:
    """One import: which file under which profile, how far it is, what is asked, what would come or came of it.

    `etag` binds a commit to what was tried: the same file, the same profile, the same rules and register.
    """

    file_import: str
    name: str
    state: ImportState
    mode: ImportMode
    reject_limit: int
    layout: Layout
    source: str
    profile: str
    profile_digest: str
    file_digest: str
    file_bytes: int
    asked_at: datetime
    asked_by: str
    done: int
    profile_revision: int | None = None
    because: str | None = None
    questions: tuple[Question, ...] = ()
    kinds_of_rows: dict[str, int] = field(default_factory=dict)
    misread_rows: int = 0
    tried: ImportTotals | None = None
    kept: ImportTotals | None = None
    etag: str | None = None
    job: str | None = None
    finished_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class ImportRun:
    """Everything that work on an import needs: the import, its profile, how the file is read, counts so far."""

    told: FileImport
    profile: ImportProfile
    settled: dict[str, Any] | None
    counts: ImportCounts
    attempt: int
    sites: tuple[str, ...] | None
    rules: str | None


@dataclass(frozen=True, slots=True)
class RowTold:
    """What came of a visit's rows, or of a skipped row: where it stands, its status, what is said of it."""

    line: int
    last_line: int
    rows: int
    status: RowStatus
    kind: str | None = None
    calibration: str | None = None
    site: str | None = None
    as_found: Verdict | None = None
    as_left: Verdict | None = None
    faults: tuple[RowFault, ...] = ()


@dataclass(frozen=True, slots=True)
class Imported:
    """Where an imported record comes from: file, line, profile, and what it lacks that full records have.

    A partial record stays out of statistics that need what it lacks. `raw` is the digest of the rows' own text.
    """

    file_import: str
    file_digest: str
    line: int
    profile: str
    profile_digest: str
    raw: str
    lacks: tuple[Lack, ...]
    partial: bool
    profile_revision: int | None = None
    source_key: str | None = None
