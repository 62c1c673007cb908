"""Rows of a table to visits: a row each, or the rows of one visit that stand together."""

from collections.abc import Iterator

from api.exchange.cell_text import value_of
from api.exchange.field_cells import FieldCells
from api.exchange.row_kinds import kind_of_row
from api.exchange.settled import Settled
from api.exchange.table_rows import Row
from api.exchange.visit_head import read_head
from api.exchange.visit_readings import add_reading, add_readings
from api.records.import_faults import CellRefused, RowFault
from api.records.import_profile import READING_FIELDS, Field, ImportProfile
from api.records.import_visit import Known, RowSkipped, VisitRead

# What tells one visit from another: the record's own id, the source's own key, else place, scale and time.
_OWN: tuple[Field, ...] = ("calibration", "visit")
_TOGETHER: tuple[Field, ...] = ("site", "device", "performed_on", "started_at", "ended_at")


def visits_of_table(
    rows: Iterator[Row], profile: ImportProfile, settled: Settled, known: Known
) -> Iterator[VisitRead | RowSkipped]:
    """Give every visit of the rows below a header, and every row that holds none, in the order of the file."""
    cells = FieldCells(profile, settled, known)
    if profile.layout == "a row a visit":
        yield from _a_row_each(rows, cells)
    else:
        yield from _rows_together(rows, cells)


def _a_row_each(rows: Iterator[Row], cells: FieldCells) -> Iterator[VisitRead | RowSkipped]:
    for row in rows:
        kind = kind_of_row(row.cells, cells.settled.header)
        if kind != "data":
            yield RowSkipped(row.line, kind, row.raw)
            continue
        visit = VisitRead(row.line, row.raw, row.text)
        ragged = ragged_fault(row, cells.settled)
        if ragged is None:
            read_head(cells, row, visit)
            add_readings(cells, row, visit)
        yield _finished(visit, cells, ragged)


def _rows_together(rows: Iterator[Row], cells: FieldCells) -> Iterator[VisitRead | RowSkipped]:
    """Rows that hold none do not part a visit; a row that cannot be split into cells belongs to the one it stands in."""
    visit: VisitRead | None = None
    first: Row | None = None
    held: tuple[str | None, ...] = ()
    for row in rows:
        kind = kind_of_row(row.cells, cells.settled.header)
        if kind != "data":
            yield RowSkipped(row.line, kind, row.raw)
            continue
        ragged = ragged_fault(row, cells.settled)
        key = held if ragged else visit_key(cells, row)
        if visit is None or key != held:
            if visit is not None:
                yield _finished(visit, cells, None)
            visit, first, held = VisitRead(row.line, row.raw, row.text), row, key
            if ragged is None:
                read_head(cells, row, visit)
        else:
            visit.rows += 1
            visit.raw = f"{visit.raw}\n{row.raw}"
            visit.text = f"{visit.text}\x1e{row.text}"
        visit.last_line = row.line
        if ragged is not None:
            cells.faults.append(ragged)
        elif visit.content is not None:
            cells.faults += _head_differs(row, first or row, cells)
            add_reading(cells, row, visit)
    if visit is not None:
        yield _finished(visit, cells, None)


def _head_differs(row: Row, first: Row, cells: FieldCells) -> Iterator[RowFault]:
    """The rows of one visit say the same of it, or nothing: what only one of them said would be lost."""
    for column in cells.settled.columns:
        if column.column.field in READING_FIELDS or column.column.fill_down or column.index >= len(first.cells):
            continue
        here, there = row.cells[column.index], first.cells[column.index]
        if here != there and value_of(here, cells.nothing) not in (None, value_of(there, cells.nothing)):
            refused = CellRefused(
                "visit-differs", f"Found {here[:40]!r}; its first row, on line {first.line}, says {there[:40]!r}.",
                "Give every row of a visit the same, or rows of another visit a key of their own.",
            )  # fmt: skip
            yield refused.at(column.at(row.line), here)


def visit_key(cells: FieldCells, row: Row) -> tuple[str | None, ...]:
    """Return what tells the visit of a row from others: its own id or key, else place, scale and time."""
    own: Field | None = next((field for field in _OWN if cells.settled.of(field) is not None), None)
    fields: tuple[Field, ...] = ("site", own) if own is not None else _TOGETHER
    columns = [cells.settled.of(field) for field in fields]
    return tuple(cells.cell(row, column) if column else None for column in columns)


def ragged_fault(row: Row, settled: Settled) -> RowFault | None:
    """Return the fault of a row that has another number of cells than the header; empty cells at its end do not count."""
    wanted, found = len(settled.header), len(row.cells)
    if found < wanted:
        word, hint = "cells-too-few", "Look for a line break inside a cell that is not quoted."
    elif any(cell.strip() for cell in row.cells[wanted:]):
        word, hint = "cells-too-many", "A cell that holds the delimiter stands in quotes."
    else:
        return None
    return RowFault(
        word, "error", f"The row has {found} cells, the header {wanted}.", row.line, suggestion=hint, found=row.raw[:64]
    )


def _finished(visit: VisitRead, cells: FieldCells, ragged: RowFault | None) -> VisitRead:
    visit.last_line = visit.last_line or visit.line
    visit.faults = [*cells.taken_faults(), *([ragged] if ragged else [])]
    return visit
