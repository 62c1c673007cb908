"""Physical lines to rows of cells, by one declared delimiter (RFC 4180 section 2), each with its raw text and first line."""

import csv
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

from api.records.import_faults import file_refused
from api.records.import_profile import Delimiter

MARKS: Final[dict[Delimiter, str]] = {",": ",", ";": ";", "tab": "\t", "|": "|"}
# A quote that is never closed swallows the rest of a file: no row of old records is as long as this.
MOST_IN_ROW = 100_000
_DECLARED_INSIDE = "sep="
# The columns that a report puts before those of the file.
ANNOTATION: Final = ("_line", "_status", "_codes", "_messages")


@dataclass(frozen=True, slots=True)
class Row:
    """One row: the physical line on which it begins, its cells, and its text as it stands in the file."""

    line: int
    cells: tuple[str, ...]
    raw: str

    @property
    def text(self) -> str:
        """Its cells in one text: the same however the file quotes them."""
        return "\x1f".join(self.cells)


class _Lines:
    """Lines as the reader takes them, remembered until its row is whole."""

    def __init__(self, lines: Iterator[str], first: int) -> None:
        self._lines = lines
        self.taken: list[str] = []
        self.size = 0
        self.number = first - 1
        self.begun = first

    def __iter__(self) -> Iterator[str]:
        return self

    def __next__(self) -> str:
        line = next(self._lines)
        self.number += 1
        self.size += len(line)
        if self.size > MOST_IN_ROW:
            raise file_refused(
                "quote-open", f"The row that begins on line {self.begun} has more than {MOST_IN_ROW} characters.",
                "Look for a quotation mark that is never closed.", self.begun,
            )  # fmt: skip
        self.taken.append(line)
        return line


def declared_inside(first_line: str) -> Delimiter | None:
    """Return the delimiter that a first line `sep=;` declares, None where it is no such line."""
    text = first_line.rstrip("\r\n")
    if not text.startswith(_DECLARED_INSIDE):
        return None
    return next((name for name, mark in MARKS.items() if text == _DECLARED_INSIDE + mark), None)


def rows_of(lines: Iterator[str], delimiter: Delimiter, first: int = 1) -> Iterator[Row]:
    """Give the rows of a file; `first` is the physical line that comes next.

    Refuses a file whose quotation marks do not fit (`FileRefused`), naming the line on which that row begins.
    """
    taken = _Lines(lines, first)
    reader = csv.reader(taken, delimiter=MARKS[delimiter], strict=True)
    while True:
        taken.begun = taken.number + 1
        taken.taken, taken.size = [], 0
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error as error:
            raise file_refused(
                "quote-open", f"The row that begins on line {taken.begun} cannot be read: {error}.",
                'A quotation mark inside a quoted cell is written twice, "".', taken.begun,
            ) from None  # fmt: skip
        yield Row(taken.begun, tuple(cells), "".join(taken.taken).rstrip("\r\n"))


def unannotated(rows: Iterator[Row]) -> Iterator[Row]:
    """Give rows without the columns that a report put before them: a report can be mended and sent again as it is."""
    annotated = False
    for row in rows:
        annotated = annotated or row.cells[: len(ANNOTATION)] == ANNOTATION
        yield replace(row, cells=row.cells[len(ANNOTATION) :]) if annotated else row


def letter_of(index: int) -> str:
    """Return a column's letter as spreadsheets write it.

    >>> letter_of(0), letter_of(27)
    ('A', 'AB')
    """
    letters = ""
    place = index + 1
    while place:
        place, rest = divmod(place - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters
