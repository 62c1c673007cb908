"""The cells of a row by the fields that the profile maps, each read under its own conventions, every fault kept."""

from collections import defaultdict
from collections.abc import Callable
from typing import Any, Final, Literal, TypeVar, get_args

from api.exchange.cell_text import is_formula, label_text, value_of, with_zeros
from api.exchange.decoded import looks_misread, was_replaced
from api.exchange.masses import mass_text, unit_code
from api.exchange.settled import Settled, SettledColumn
from api.exchange.table_rows import Row
from api.metrology.terms import AdjustmentType, Outcome, Position, Purpose
from api.metrology.terms import TestName as NameOfTest
from api.metrology.verdict import Verdict
from api.records.import_faults import CellPlace, CellRefused, RowFault
from api.records.import_profile import Field, ImportProfile, PhaseName
from api.records.import_visit import Known

T = TypeVar("T")
# Fields that say one word out of a closed list; the profile may say what the file's own words mean.
WORDS: Final[dict[Field, tuple[str, ...]]] = {
    "purpose": get_args(Purpose), "outcome": get_args(Outcome), "phase": get_args(PhaseName),
    "test": get_args(NameOfTest), "position": get_args(Position), "adjustment": get_args(AdjustmentType),
    "claimed_as_found": get_args(Verdict), "claimed_as_left": get_args(Verdict),
}  # fmt: skip
LABELS: Final[frozenset[Field]] = frozenset({"device", "serial", "visit", "calibration"})


class FieldCells:
    """Reads the cells of one row after the other; faults are gathered until they are taken."""

    def __init__(self, profile: ImportProfile, settled: Settled, known: Known) -> None:
        self.profile = profile
        self.settled = settled
        self.known = known
        self.faults: list[RowFault] = []
        self.nothing = frozenset(profile.nothing)
        self._words: dict[Field, dict[str, str]] = defaultdict(dict)
        for word in profile.words:
            self._words[word.field][word.found] = word.means
        self._above: dict[int, str] = {}

    def taken_faults(self) -> list[RowFault]:
        """Return the faults found since they were last taken."""
        found, self.faults = self.faults, []
        return found

    def cell(self, row: Row, column: SettledColumn) -> str | None:
        """Return what a cell holds; where the profile says that the column is filled down, what stood last above it."""
        found = value_of(row.cells[column.index], self.nothing) if column.index < len(row.cells) else None
        if found is None:
            return self._above.get(column.index) if column.column.fill_down else None
        self._above[column.index] = found
        return found

    def stood_above(self, column: SettledColumn) -> bool:
        """Return whether a row above had something in a column."""
        return column.index in self._above

    def text(self, row: Row, field: Field) -> tuple[str | None, CellPlace]:
        """Return what a row says of a field, as text in the service's words, and where."""
        column = self.settled.of(field)
        if column is None:
            return self.profile.constant(field), CellPlace(row.line, field=field)
        found, place = self.cell(row, column), column.at(row.line)
        return (None if found is None else self.tried(lambda: self._read(field, found), place, found)), place

    def _read(self, field: Field, found: str) -> str:
        meant = self._words[field].get(found, found)
        if field in WORDS and meant not in WORDS[field]:
            raise CellRefused(
                "word-unknown", f"Found {found!r}; accepted: {', '.join(WORDS[field])}.",
                f"Say in the profile what it means: a word for the field {field}.",
            )  # fmt: skip
        if field in LABELS:
            label_text(meant)
        if field == "device":
            self._check_zeros(meant)
        return meant

    def _check_zeros(self, tag: str) -> None:
        whole = with_zeros(tag, self.known.tags)
        if whole is not None:
            raise CellRefused(
                "label-zeros-lost", f"Found {tag!r}, which is not on the register; {whole!r} is.",
                "A spreadsheet drops leading zeros: type the tag again, in a column that is formatted as text.",
            )  # fmt: skip

    def tried(self, read: Callable[[], T], place: CellPlace, found: str) -> T | None:
        """Return what a reader makes of a cell, or None where it refuses: the fault is kept."""
        try:
            return read()
        except CellRefused as refused:
            self.faults.append(refused.at(place, found))
            return None

    def noted(self, code: str, message: str, place: CellPlace, found: str, suggestion: str | None = None) -> None:
        """Keep a note about a cell."""
        self.faults.append(CellRefused(code, message, suggestion).at(place, found, "note"))

    def free_text(self, text: str, place: CellPlace) -> None:
        """Note what a free text betrays: a formula, letters that were misread, letters that were lost."""
        if is_formula(text):
            self.noted("text-formula", "The cell begins like a formula; it is kept as text, never run.", place, text)
        if looks_misread(text):
            said = "The text looks as if it was once read in another encoding."
            self.noted(
                "text-misread", said, place, text, "Look whether the file was saved twice in different encodings."
            )
        if was_replaced(text):
            said = "A letter was lost before the file came here (U+FFFD)."
            self.noted("text-lost", said, place, text, "Export the file again from where the text is still whole.")

    def mass(self, row: Row, column: SettledColumn, unit: str | None) -> dict[str, str] | None:
        """Return the mass in a cell in the wire's form, None where the cell is empty or refused; `unit` is its row's."""
        found = self.cell(row, column)
        if found is None:
            return None
        held = column.column
        return self.tried(
            lambda: mass_text(found, unit or held.unit, held.decimal, held.thousands, self._words["unit"]),
            column.at(row.line), found,
        )  # fmt: skip

    def unit(self, row: Row, field: Literal["unit", "load_unit"] = "unit") -> str | None:
        """Return the unit that a row's column of units names, None where there is no such column or nothing in it."""
        column = self.settled.of(field)
        found = self.cell(row, column) if column else None
        if column is None or found is None:
            return None
        meant = self._words["unit"].get(found, found)
        return self.tried(lambda: unit_code(meant), column.at(row.line), found)


def put(content: dict[str, Any], places: dict[str, CellPlace], name: str, value: Any, place: CellPlace) -> None:
    """Put a value into a content where there is one, and remember which cell it came from."""
    if value is not None:
        content[name] = value
    places[f"#/{name}"] = place
