"""The first look at a file of old records: what it is, how many rows of which kind, and what is still to be declared.

The whole file is read once. Nothing is taken from it; what comes out is how it will be read, or what has to be asked.
"""

from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from itertools import chain, islice

from api.exchange.decoded import Encoded, UndeclaredEncoding, encoding_of, lines_of, looks_misread, reads_as_utf8
from api.exchange.field_cells import FieldCells
from api.exchange.open_matters import OpenMatters
from api.exchange.row_kinds import kind_of_row
from api.exchange.settled import Settled, header_among, matched, undeclared
from api.exchange.table_rows import MARKS, Row, declared_inside, rows_of, unannotated
from api.exchange.visits_of_table import ragged_fault, visit_key
from api.records.import_faults import Question, file_refused
from api.records.import_profile import Delimiter, ImportProfile
from api.records.import_visit import Known

Pieces = Callable[[], Iterable[bytes]]
# Titles, dates of printing and the like may stand above a header; further down a header is not looked for.
MOST_ABOVE = 20


@dataclass(frozen=True, slots=True)
class FirstLook:
    """What the first look at a file showed: how it is read, what is still open, rows by kind, cells that look misread."""

    settled: Settled
    questions: tuple[Question, ...]
    kinds: dict[str, int] = field(default_factory=dict)
    misread_rows: int = 0


def first_look(pieces: Pieces, profile: ImportProfile) -> FirstLook:
    """Return what a file shows under a profile. Refuses what cannot be read at all (`FileRefused`)."""
    head = b"".join(islice(pieces(), 1))
    if not head.strip():
        raise file_refused("file-empty", "The file holds nothing.", "Send the file that holds the records.")
    encoded = encoding_of(head, profile.encoding)
    if encoded and encoded.encoding in ("windows-1252", "iso-8859-1") and reads_as_utf8(pieces()):
        said = f"All of the file reads as UTF-8; read as {encoded.encoding}, its letters would be wrong."
        raise file_refused("encoding-differs", said, "Leave the encoding out of the profile.")
    try:
        if profile.layout == "a submission a line":
            return _at_lines(pieces, encoded)
        return _at_table(pieces, encoded, profile)
    except UndeclaredEncoding as undeclared_encoding:
        return FirstLook(Settled(), (undeclared_encoding.question,))


def _at_lines(pieces: Pieces, encoded: Encoded | None) -> FirstLook:
    """Lines of JSON are UTF-8 (RFC 8259 section 8.1)."""
    if encoded is not None and encoded.encoding != "utf-8":
        raise file_refused("encoding-differs", f"The file is {encoded.encoding}; NDJSON is UTF-8.", "Save it as UTF-8.")
    kinds: Counter[str] = Counter()
    for line in lines_of(pieces(), encoded):
        if not kinds and line.lstrip().startswith("["):
            raise file_refused(
                "file-is-list", "The file is one JSON list; accepted: one submission a line (NDJSON).",
                "Write every submission on a line of its own.",
            )  # fmt: skip
        kinds["data" if line.strip() else "blank"] += 1
    return FirstLook(Settled(encoded), (), dict(kinds))


def _at_table(pieces: Pieces, encoded: Encoded | None, profile: ImportProfile) -> FirstLook:
    lines = lines_of(pieces(), encoded)
    first = next(lines)
    delimiter, inside = _delimiter(first, profile)
    if delimiter is None:
        return FirstLook(Settled(encoded), (_which_delimiter(first), *undeclared(profile)))
    rows = unannotated(rows_of(lines if inside else chain((first,), lines), delimiter, 2 if inside else 1))
    above = list(islice(rows, MOST_ABOVE))
    place = header_among([row.cells for row in above], profile)
    header = above[place]
    _check_split(header, delimiter)
    columns, questions = matched(header.cells, profile)
    settled = Settled(encoded, delimiter, header.line, tuple(header.cells), tuple(columns))
    questions += undeclared(profile)
    return _over_rows(chain(above[place + 1 :], rows), profile, settled, questions)


def _delimiter(first: str, profile: ImportProfile) -> tuple[Delimiter | None, bool]:
    """The delimiter that the file's first line or the profile declares, and whether it was the file."""
    inside = declared_inside(first)
    if inside and profile.delimiter and inside != profile.delimiter:
        said = f"The first line declares {inside!r}, the profile says {profile.delimiter!r}."
        raise file_refused("delimiter-differs", said, "Leave the delimiter out of the profile: the file says it.")
    return inside or profile.delimiter, inside is not None


def _which_delimiter(first: str) -> Question:
    counted = {name: first.count(mark) for name, mark in MARKS.items() if mark in first}
    shown = ", ".join(f"{name!r} {count} times" for name, count in counted.items()) or "none of them"
    return Question(
        "delimiter", "delimiter", f"Nothing says what stands between cells; the first line holds {shown}.", (1,)
    )


def _check_split(header: Row, delimiter: Delimiter) -> None:
    """A header that stays one cell, and holds another delimiter, was split by the wrong one."""
    if len(header.cells) > 1:
        return
    others = [name for name, mark in MARKS.items() if mark in header.raw and name != delimiter]
    hint = f"It holds {', '.join(map(repr, others))}: say so in the profile." if others else "Name the right delimiter."
    raise file_refused(
        "delimiter-wrong",
        f"Split by {delimiter!r}, line {header.line} is one single cell.",
        hint,
        header.line,
        header.raw[:64],
    )


def _over_rows(rows: Iterator[Row], profile: ImportProfile, settled: Settled, questions: list[Question]) -> FirstLook:
    matters, kinds = OpenMatters(settled, profile), Counter[str]()
    together = _Together(profile, settled)
    misread = 0
    for row in rows:
        kind = kind_of_row(row.cells, settled.header)
        kinds[kind] += 1
        misread += looks_misread(row.raw)
        if kind == "data" and ragged_fault(row, settled) is None:
            matters.look_at(row)
            together.look_at(row)
    answered, asked = matters.answered()
    return FirstLook(answered, (*questions, *asked, *together.questions()), dict(kinds), misread)


class _Together:
    """Whether the rows of each visit stand together: what stands apart would be taken for two visits."""

    def __init__(self, profile: ImportProfile, settled: Settled) -> None:
        self._cells = FieldCells(profile, settled, Known()) if profile.layout == "a row a reading" else None
        self._first: dict[int, int] = {}
        self._last: int | None = None
        self._apart: list[tuple[int, int]] = []

    def look_at(self, row: Row) -> None:
        """Take note of the visit to which a row belongs."""
        if self._cells is None:
            return
        key = hash(visit_key(self._cells, row))
        if key != self._last and key in self._first:
            self._apart.append((self._first[key], row.line))
        self._first.setdefault(key, row.line)
        self._last = key

    def questions(self) -> list[Question]:
        """Return the question that follows from visits in two places."""
        if not self._apart:
            return []
        begun, again = self._apart[0]
        said = (
            f"The visit that begins on line {begun} goes on at line {again}, after another; {len(self._apart)} do so."
        )
        return [Question("visit-apart", "the file: sort it by visit", said, self._apart[0])]
