"""A visit as it was read out of a file of old records, and rows that hold none."""

from dataclasses import dataclass, field
from typing import Any, Final, Literal

from api.records.import_faults import CellPlace, RowFault

# What old records often lack; statistics that need it leave a record out that lacks it.
Lack = Literal["as found", "as left", "weights", "time of day", "environment"]
# Without one of these a record is partial. The others are said, and change nothing.
PARTIAL: Final[frozenset[Lack]] = frozenset({"as found", "as left", "weights"})


@dataclass(slots=True)
class VisitRead:
    """A visit out of a file: its rows from the first line on, their text, the submission they make, and what is wrong.

    `key` is the source's own key of the visit, None where it has none; `places` says which cell made which part of the
    content, by JSON pointer.
    """

    line: int
    raw: str
    rows: int = 1
    last_line: int = 0
    key: str | None = None
    calibration: str | None = None
    content: Any = None
    faults: list[RowFault] = field(default_factory=list)
    places: dict[str, CellPlace] = field(default_factory=dict)
    lacks: tuple[Lack, ...] = ()

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
