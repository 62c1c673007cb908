"""The readings of a visit out of a row: one where a row is a reading, several where a row is a visit."""

from typing import Any, Final

from api.exchange.field_cells import FieldCells
from api.exchange.masses import unit_slip
from api.exchange.settled import SettledColumn
from api.exchange.table_rows import Row
from api.metrology.mass import KILOGRAMS_PER
from api.records.import_faults import CellPlace
from api.records.import_profile import ReadingField
from api.records.import_visit import VisitRead

PHASES: Final = {"as found": "as_found", "as left": "as_left"}


def add_reading(cells: FieldCells, row: Row, visit: VisitRead) -> None:
    """Add the reading that a row is; a row without an indication is noted, and no reading is made of it."""
    column = cells.settled.of("indication")
    if column is None:
        return
    phase, _ = cells.text(row, "phase")
    test, _ = cells.text(row, "test")
    unit = cells.unit(row)
    load_column = cells.settled.of("load")
    load = cells.mass(row, load_column, cells.unit(row, "load_unit") or unit) if load_column else None
    if cells.cell(row, column) is None:
        said = "No indication stands in this row: no reading is made of it. An empty cell is never zero."
        cells.noted("reading-empty", said, column.at(row.line), "")
        return
    indication = cells.mass(row, column, unit)
    if phase is None or test is None or indication is None:
        _check_said(cells, row, ("phase", "test"))
        return
    reading = {"test": test, "load": load, "indication": indication, **_beside(cells, row)}
    number, place = cells.text(row, "seq")
    _append(cells, visit, PHASES[phase], reading, column.at(row.line), number, place)


def _check_said(cells: FieldCells, row: Row, fields: tuple[ReadingField, ...]) -> None:
    """An empty cell where every reading needs one; what was refused has its fault already."""
    for field in fields:
        column = cells.settled.of(field)
        if column is not None and cells.cell(row, column) is None:
            cells.noted(
                "cell-empty", f"The cell is empty, and every reading needs its {field}.", column.at(row.line), ""
            )


def _beside(cells: FieldCells, row: Row) -> dict[str, Any]:
    pieces, _ = cells.text(row, "pieces")
    position, _ = cells.text(row, "position")
    return {"pieces": [code.strip() for code in pieces.split("+")] if pieces else None, "position": position}


def add_readings(cells: FieldCells, row: Row, visit: VisitRead) -> None:
    """Add every reading that a row of a whole visit holds, in the order of its columns."""
    unit = cells.unit(row)
    beside = _beside(cells, row)
    loads = {c.column.reading: c for c in cells.settled.columns if c.column.field == "load"}
    for column in cells.settled.columns:
        held = column.column
        if held.field != "indication" or held.phase is None or held.test is None:
            continue
        indication = cells.mass(row, column, unit)
        if indication is None:
            continue
        load = _load(cells, row, column, loads.get(held.reading) if held.reading is not None else None, unit)
        reading = {"test": held.test, "load": load, "indication": indication, **beside}
        if held.position is not None:
            reading["position"] = held.position
        _append(cells, visit, PHASES[held.phase], reading, column.at(row.line), None, CellPlace(row.line))


def _load(
    cells: FieldCells, row: Row, column: SettledColumn, beside: SettledColumn | None, unit: str | None
) -> dict[str, str] | None:
    """The load in the column beside, else the one that the profile says for the column of the indication."""
    if beside is not None:
        return cells.mass(row, beside, unit)
    load = column.column.load
    return None if load is None else {"value": f"{load.value:f}", "unit": load.unit}


def _append(
    cells: FieldCells, visit: VisitRead, phase: str, reading: dict[str, Any], at: CellPlace, number: str | None,
    number_place: CellPlace,
) -> None:  # fmt: skip
    readings = visit.content.setdefault(phase, {"readings": []})["readings"]
    seq = int(number) if number is not None and number.isascii() and number.isdigit() else len(readings) + 1
    if number is not None and str(seq) != number.lstrip("0") and number.strip("0"):
        cells.noted(
            "seq-not-a-number", f"Found {number!r}; the readings are numbered as they stand.", number_place, number
        )
    readings.append({"seq": seq, **{name: value for name, value in reading.items() if value is not None}})
    visit.places[f"#/{phase}/readings/{len(readings) - 1}"] = at
    _check_slip(cells, readings[-1], at)


def _check_slip(cells: FieldCells, reading: dict[str, Any], at: CellPlace) -> None:
    load, shown = reading.get("load"), reading["indication"]
    if load is None or shown["unit"] not in KILOGRAMS_PER or load["unit"] not in KILOGRAMS_PER:
        return
    factor = unit_slip(_kg(load), _kg(shown))
    if factor is not None:
        held = f"its load {load['value']} {load['unit']}"
        said = f"The reading {shown['value']} {shown['unit']} is about {factor} times {held}."
        cells.noted("unit-slip", said, at, shown["value"], "Look whether the unit of the column is the right one.")


def _kg(mass: dict[str, str]) -> float:
    return float(mass["value"]) * float(KILOGRAMS_PER[mass["unit"]])
