"""What is wrong with a file of old records, or worth saying of it: where it stands, what was found, what would do."""

from dataclasses import dataclass
from typing import Final, Literal

from api.metrology.refusals import Refusal

# An error keeps its row out; a note does not.
Severity = Literal["error", "note"]
MOST_FOUND = 64


@dataclass(frozen=True, slots=True)
class CellPlace:
    """Where a cell stands: the physical line on which its row begins, the column's letter and header, the mapped field."""

    line: int
    column: str | None = None
    header: str | None = None
    field: str | None = None


@dataclass(frozen=True, slots=True)
class RowFault:
    """One fault of a row, or one note about it: a stable code, what was found and would be accepted, what to do."""

    code: str
    severity: Severity
    message: str
    line: int
    column: str | None = None
    header: str | None = None
    field: str | None = None
    found: str | None = None
    suggestion: str | None = None

    def told(self) -> str:
        """Return the fault in one line, for a terminal, a cell or a page."""
        place = f"line {self.line}"
        if self.column:
            place += f", column {self.column}"
        if self.header:
            place += f' "{self.header}"'
        if self.field:
            place += f" -> {self.field}"
        way_out = f" {self.suggestion}" if self.suggestion else ""
        return f"{place}: {self.message}{way_out} (import.{self.code})"


class CellRefused(Exception):
    """A cell cannot be read as what its column holds, under the conventions that were declared."""

    def __init__(self, code: str, message: str, suggestion: str | None = None) -> None:
        super().__init__(message)
        self.code = code
        self.message = message
        self.suggestion = suggestion

    def at(self, place: CellPlace, found: str, severity: Severity = "error") -> RowFault:
        """Return the fault of this cell at its place."""
        return RowFault(
            self.code, severity, self.message, place.line, place.column, place.header, place.field, found[:MOST_FOUND],
            self.suggestion,
        )  # fmt: skip


class FileRefused(Refusal):
    """The file as a whole cannot be read."""

    code = "file-refused"

    def __init__(self, fault: RowFault) -> None:
        super().__init__(fault.told(), line=str(fault.line), fault=fault.code)
        self.fault = fault


def file_refused(code: str, message: str, suggestion: str, line: int = 1, found: str | None = None) -> FileRefused:
    """Return the refusal of a whole file for one reason."""
    return FileRefused(RowFault(code, "error", message, line, found=found, suggestion=suggestion))


@dataclass(frozen=True, slots=True)
class Question:
    """What the file cannot say of itself and the profile does not: the setting that has to be declared, and why."""

    code: str
    setting: str
    message: str
    lines: tuple[int, ...] = ()
    column: str | None = None
    header: str | None = None


# The order in which a person mends them: first what keeps a row out.
WORST_FIRST: Final[tuple[Severity, ...]] = ("error", "note")
