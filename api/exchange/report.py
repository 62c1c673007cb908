"""What came of each row, as files: the user's own table with columns before it, and a line of JSON a row.

The annotated table can be mended and sent again as it is: its own columns are known and passed over.
"""

import csv
import io
import json
from collections.abc import Iterable, Iterator
from itertools import chain
from typing import Any

from api.exchange.decoded import lines_of
from api.exchange.settled import Settled
from api.exchange.table_rows import ANNOTATION, MARKS, Row, declared_inside, rows_of
from api.records.documents import document_of, record_from
from api.records.file_import import RowTold
from api.records.import_faults import RowFault
from api.records.import_profile import Delimiter


def report_lines(told: Iterable[RowTold]) -> Iterator[str]:
    """Give what came of each row as a line of JSON."""
    for row in told:
        yield json.dumps(document_of(row), ensure_ascii=False) + "\n"


def table_report(pieces: Iterable[bytes], settled: dict[str, Any] | None, told: Iterable[RowTold]) -> Iterator[bytes]:
    """Give what came of each row as CSV: before the rows of a table, or alone where the file is none or was never read."""
    known = record_from(Settled, settled) if settled else Settled()
    return _annotated(pieces, known, known.delimiter, told) if known.delimiter else _lines_told(told)


def _annotated(
    pieces: Iterable[bytes], settled: Settled, delimiter: Delimiter, told: Iterable[RowTold]
) -> Iterator[bytes]:
    """The file with `_line`, `_status`, `_codes` and `_messages` before each row, in its own encoding and dialect."""
    mark = MARKS[delimiter]
    encoding = settled.encoded.encoding if settled.encoded else "utf-8"
    if settled.encoded and settled.encoded.marked:
        yield "\ufeff".encode(encoding)
    lines = lines_of(pieces, settled.encoded)
    first = next(lines)
    inside = declared_inside(first) is not None
    if inside:
        yield first.encode(encoding)
    rows = rows_of(lines if inside else chain((first,), lines), delimiter, 2 if inside else 1)
    by_line = _by_line(told)
    for row in rows:
        cells = ANNOTATION if row.line == settled.header_line else _said_of(row, by_line)
        yield f"{_row(cells, mark)}{mark}{_bare(row, mark)}\r\n".encode(encoding, "replace")


def _bare(row: Row, mark: str) -> str:
    """The row as it stands, without what an earlier report put before it."""
    return row.raw if row.cells[: len(ANNOTATION)] != ANNOTATION else _row(row.cells[len(ANNOTATION) :], mark)


def _lines_told(told: Iterable[RowTold]) -> Iterator[bytes]:
    yield f"{_row(ANNOTATION, ',')}\r\n".encode()
    for row in told:
        yield f"{_row(_cells(row, row.line, row.faults), ',')}\r\n".encode()


def _by_line(told: Iterable[RowTold]) -> dict[int, RowTold]:
    """What came of each line; a row that holds no visit, in the midst of one, has its own word."""
    found: dict[int, RowTold] = {}
    for row in told:
        for line in range(row.line, row.last_line + 1):
            if row.status == "skipped" or line not in found or found[line].status != "skipped":
                found[line] = row
    return found


def _said_of(row: Row, by_line: dict[int, RowTold]) -> tuple[str, ...]:
    told = by_line.get(row.line)
    if told is None:
        return (str(row.line), "", "", "")
    faults = [fault for fault in told.faults if fault.line == row.line]
    return _cells(told, row.line, faults)


def _cells(told: RowTold, line: int, faults: Iterable[RowFault]) -> tuple[str, ...]:
    """Line, status, codes and messages. No message begins like a formula: each begins with its line."""
    listed = list(faults)
    codes = " ".join(dict.fromkeys(fault.code for fault in listed))
    said = " | ".join(fault.told() for fault in listed)
    return (str(line), told.status if told.kind is None else f"{told.status}: {told.kind}", codes, said)


def _row(cells: Iterable[str], mark: str) -> str:
    text = io.StringIO()
    csv.writer(text, delimiter=mark, lineterminator="").writerow(cells)
    return text.getvalue()
