"""A visit as it was read out of a file of old records, and rows that hold none."""

from dataclasses import dataclass, field
from typing import Any, Final, Literal

from api.metrology.submission import Submission
from api.metrology.verdict import Verdict
from api.records.import_faults import CellPlace, RowFault

# What old records often lack; statistics that need it leave a record out that lacks it.
Lack = Literal["as found", "as left", "weights", "time of day", "environment"]
# Without one of these a record is partial. The others are said, and change nothing.
PARTIAL: Final[frozenset[Lack]] = frozenset({"as found", "as left", "weights"})


@dataclass(slots=True)
class VisitRead:
    """A visit out of a file: its rows from the first line on, the submission they make, and what is wrong.

    `raw` is the rows as they stand in the file, `text` their cells: what tells one visit from another without a key.
    `claimed` are the verdicts that a line of an export says the record had there.
    `key` is the source's own key of the visit, None where it has none; `places` says which cell made which part of the
    content, by JSON pointer. `sent` and `body` are the submission and its bytes, once the shape is checked.
    """

    line: int
    raw: str
    text: str
    rows: int = 1
    last_line: int = 0
    key: str | None = None
    calibration: str | None = None
    content: Any = None
    faults: list[RowFault] = field(default_factory=list)
    places: dict[str, CellPlace] = field(default_factory=dict)
    lacks: tuple[Lack, ...] = ()
    occurrence: int = 1
    repeats: bool = False
    sent: Submission | None = None
    body: bytes = b""
    claimed: tuple[Verdict | None, Verdict | None] | None = None

    @property
    def is_refused(self) -> bool:
        """Whether a fault keeps it out."""
        return any(fault.severity == "error" for fault in self.faults)

    def place_of(self, pointer: str) -> CellPlace:
        """Return the cell that made a part of the content, or the row where no single cell did."""
        while pointer:
            if pointer in self.places:
                return self.places[pointer]
            pointer = pointer.rpartition("/")[0]
        return CellPlace(self.line)


@dataclass(frozen=True, slots=True)
class RowSkipped:
    """A row that holds no visit, and what it is instead."""

    line: int
    kind: str
    raw: str


@dataclass(frozen=True, slots=True)
class Known:
    """What the register says that a file alone does not: tags, serials by tag, time zones by site."""

    tags: frozenset[str] = frozenset()
    serials: dict[str, str] = field(default_factory=dict)
    zones: dict[str, str] = field(default_factory=dict)


def lacks_of(content: dict[str, Any]) -> tuple[Lack, ...]:
    """Return what a content lacks that full records have."""
    lacks: list[Lack] = []
    phases = [content[name]["readings"] for name in ("as_found", "as_left") if name in content]
    if "as_found" not in content:
        lacks.append("as found")
    if "as_left" not in content and content.get("adjustments"):
        lacks.append("as left")
    if not any(reading.get("pieces") for readings in phases for reading in readings):
        lacks.append("weights")
    if "environment" not in content:
        lacks.append("environment")
    return tuple(lacks)
