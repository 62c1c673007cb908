"""The head of a visit out of a row: where, which scale, when, who, why, and what the old record concluded."""

from datetime import date, time
from functools import partial
from typing import Any, Final
from uuid import UUID

from api.exchange.days import DayForm, day_of, moment_text, split_day, time_of
from api.exchange.field_cells import FieldCells, put
from api.exchange.table_rows import Row
from api.records.import_faults import CellPlace, CellRefused
from api.records.import_profile import REQUIRED, VisitField
from api.records.import_visit import VisitRead

NOON: Final = time(12)
_PLAIN: Final[tuple[VisitField, ...]] = ("site", "device", "purpose", "outcome", "ward", "weight_set", "remarks")

_CLAIMED: Final[tuple[tuple[str, VisitField], ...]] = (
    ("as_found", "claimed_as_found"), ("as_left", "claimed_as_left"),
)  # fmt: skip


def read_head(cells: FieldCells, row: Row, visit: VisitRead) -> None:
    """Read everything that a row says of its visit beside readings into the visit's content."""
    content: dict[str, Any] = {"schema": "calibration/1"}
    visit.content = content
    _check_merged(cells, row)
    for field in _PLAIN:
        value, place = cells.text(row, field)
        put(content, visit.places, field, value, place)
        if value is not None and field == "remarks":
            cells.free_text(value, place)
    _performed(cells, row, visit)
    _technicians(cells, row, visit)
    _procedure(cells, row, visit)
    _serial(cells, row, visit)
    _adjustment(cells, row, visit)
    _claimed(cells, row, visit)
    _own_id(cells, row, visit)
    key, _ = cells.text(row, "visit")
    visit.key = None if key is None else f"{content.get('site')}/{key}"


def _own_id(cells: FieldCells, row: Row, visit: VisitRead) -> None:
    """The id that the record had where the file was exported: it is the same record here."""
    found, place = cells.text(row, "calibration")
    if found is not None:
        visit.calibration = cells.tried(partial(_uuid, found), place, found)


def _uuid(found: str) -> str:
    try:
        return str(UUID(found))
    except ValueError:
        raise CellRefused(
            "id-not-uuid",
            f"Found {found!r}; accepted: a calibration's id, a UUID.",
            "Leave it empty where there is none.",
        ) from None


def _check_merged(cells: FieldCells, row: Row) -> None:
    """An empty cell under a filled one, where every visit needs the field, is what merged cells leave behind."""
    for field in REQUIRED:
        column = cells.settled.of(field)
        if column is None or cells.cell(row, column) is not None:
            continue
        above = cells.stood_above(column)
        refused = CellRefused(
            "cell-merged" if above else "cell-empty",
            f"The cell is empty, and every visit needs its {field}."
            + (" A row above has one: cells that were merged leave the others empty." if above else ""),
            "Fill it in, or say fill_down for this column in the profile." if above else "Fill it in.",
        )
        cells.faults.append(refused.at(column.at(row.line), ""))


def _performed(cells: FieldCells, row: Row, visit: VisitRead) -> None:
    """The day, and the times where the record has any; a day alone is kept at noon, and the time is said to lack."""
    column = cells.settled.of("performed_on")
    found, place = cells.text(row, "performed_on")
    visit.places["#/performed"] = place
    start, end = cells.text(row, "started_at"), cells.text(row, "ended_at")
    if found is None:
        return
    text, at, offset = split_day(found)
    form = DayForm(column.column.days if column else "year-month-day", cells.profile.year_pivot)
    day = cells.tried(partial(day_of, text, form), place, found)
    if start[0] is None:
        start = (at, place)
    if start[0] is None:
        visit.lacks = (*visit.lacks, "time of day")
    if day is None:
        return
    zone = cells.profile.time_zone or cells.known.zones.get(visit.content.get("site", ""))
    moments = {}
    for name, (time_text, where) in (("start", start), ("end", end if end[0] is not None else start)):
        its_day, time_text, its_offset = _own_day(cells, time_text, where, form) or (day, time_text, offset)
        read = NOON if time_text is None else cells.tried(partial(time_of, time_text), where, time_text)
        if read is not None:
            moments[name] = cells.tried(
                partial(moment_text, its_day, read, its_offset, zone), where, time_text or found
            )
    if all(moments.get(name) for name in ("start", "end")):
        visit.content["performed"] = moments


def _own_day(
    cells: FieldCells, cell: str | None, where: CellPlace, form: DayForm
) -> tuple[date, str | None, str | None] | None:
    """Day, time and offset where a cell of a time holds a whole moment; None where it holds no more than the time."""
    text, at, offset = split_day(cell or "")
    if at is None or cell is None or ":" in text:
        return None
    day = cells.tried(partial(day_of, text, form), where, cell)
    return None if day is None else (day, at, offset)


def _technicians(cells: FieldCells, row: Row, visit: VisitRead) -> None:
    found, place = cells.text(row, "technician")
    visit.places["#/technicians"] = place
    if found is not None:
        visit.content["technicians"] = [code.strip() for code in found.split("+")]


def _procedure(cells: FieldCells, row: Row, visit: VisitRead) -> None:
    code, place = cells.text(row, "procedure")
    revision, revision_place = cells.text(row, "procedure_revision")
    visit.places |= {"#/procedure": place, "#/procedure/revision": revision_place}
    if code is not None:
        visit.content["procedure"] = {"code": code} if revision is None else {"code": code, "revision": revision}


def _serial(cells: FieldCells, row: Row, visit: VisitRead) -> None:
    """A serial is compared with the register's; where the register has none, nothing was compared."""
    found, place = cells.text(row, "serial")
    visit.places["#/identity"] = place
    known = cells.known.serials.get(visit.content.get("device", ""))
    if found is not None and known is not None:
        visit.content["identity"] = [{"item": "serial", "seen": found, "matches": found == known}]


def _adjustment(cells: FieldCells, row: Row, visit: VisitRead) -> None:
    found, place = cells.text(row, "adjustment")
    visit.places["#/adjustments"] = place
    if found is not None:
        visit.content["adjustments"] = [{"type": found}]


def _claimed(cells: FieldCells, row: Row, visit: VisitRead) -> None:
    """What the old record concluded is kept beside what the service works out; it decides nothing."""
    claimed = {}
    for name, field in _CLAIMED:
        found, place = cells.text(row, field)
        visit.places[f"#/app_verdict/{name}"] = place
        if found is not None:
            claimed[name] = found
    if claimed:
        visit.content["app_verdict"] = claimed
