"""What the cells of a file leave open: read once from end to end, before anything is taken from them.

What the whole column shows in one way only is taken as shown; whatever may be read in two ways is asked, never guessed.
"""

import re
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field, replace

from api.exchange.cell_text import value_of
from api.exchange.days import split_day
from api.exchange.masses import split_unit, unit_in_header
from api.exchange.settled import Settled, SettledColumn
from api.exchange.table_rows import Row
from api.metrology.mass import KILOGRAMS_PER
from api.records.import_faults import Question
from api.records.import_profile import MASS_FIELDS, DayOrder, ImportProfile

_DAY = re.compile(r"([0-9]{1,4})[./-]([0-9]{1,2})[./-]([0-9]{1,4})")
MOST_LINES = 3


@dataclass(slots=True)
class _Seen:
    """What the cells of one column showed: by what was seen, the first lines on which it was."""

    lines: dict[str, list[int]] = field(default_factory=lambda: defaultdict(list))
    cells: int = 0

    def note(self, what: str, line: int) -> None:
        if len(self.lines[what]) < MOST_LINES:
            self.lines[what].append(line)


class OpenMatters:
    """Looks at every data row, then says which settings are still open, and settles what the cells settle."""

    def __init__(self, settled: Settled, profile: ImportProfile) -> None:
        self._settled = settled
        self._profile = profile
        self._nothing = frozenset(profile.nothing)
        self._seen = {column.index: _Seen() for column in settled.columns}

    def look_at(self, row: Row) -> None:
        """Take note of what a data row shows."""
        for column in self._settled.columns:
            if column.index >= len(row.cells):
                continue
            if (cell := value_of(row.cells[column.index], self._nothing)) is None:
                continue
            seen = self._seen[column.index]
            seen.cells += 1
            if column.column.field in MASS_FIELDS:
                number, unit = split_unit(cell)
                if "." in number or "," in number:
                    seen.note("separator", row.line)
                if unit is None:
                    seen.note("no unit", row.line)
            elif column.column.field == "performed_on":
                _note_day(seen, split_day(cell)[0], row.line)

    def answered(self) -> tuple[Settled, list[Question]]:
        """Return the settings as far as the cells settle them, and a question for each that stays open."""
        questions: list[Question] = []
        columns = []
        for column in self._settled.columns:
            seen = self._seen[column.index]
            if column.column.field in MASS_FIELDS:
                questions += self._of_mass(column, seen)
            elif column.column.field == "performed_on":
                column, asked = self._of_day(column, seen)
                questions += asked
            columns.append(column)
        return replace(self._settled, columns=tuple(columns)), questions

    def _of_mass(self, column: SettledColumn, seen: _Seen) -> Iterable[Question]:
        held = column.column
        if held.decimal is None and seen.lines["separator"]:
            said = "Its numbers hold points or commas, and nothing says which is the decimal sign."
            yield _asked("decimal-sign", "decimal", said, column, seen.lines["separator"])
        written = unit_in_header(held.header)
        if written is not None and held.unit is not None and written != held.unit:
            said = f"The header says {written}, the profile says {held.unit}."
            yield _asked("unit-header-differs", "unit", said, column, [])
        elif held.unit is None and seen.lines["no unit"] and self._settled.of("unit") is None:
            hint = (
                f" The header says {written!r}, which is no unit code." if written not in (None, *KILOGRAMS_PER) else ""
            )
            said = f"Nothing says in which unit its numbers are.{hint} Accepted: {', '.join(KILOGRAMS_PER)}."
            yield _asked("unit", "unit", said, column, seen.lines["no unit"])

    def _of_day(self, column: SettledColumn, seen: _Seen) -> tuple[SettledColumn, list[Question]]:
        questions = []
        if seen.lines["short year"] and self._profile.year_pivot is None:
            said = "Its years have two digits, and nothing says in which century they are."
            questions.append(_asked("year-pivot", "year_pivot", said, column, seen.lines["short year"]))
        if column.column.days is not None:
            return column, questions
        if seen.lines["serial"]:
            said = "Its days are a spreadsheet's counts, and nothing says whether from 1900 or from 1904."
            questions.append(_asked("day-serial", "days", said, column, seen.lines["serial"]))
        day_first, month_first = seen.lines["day first"], seen.lines["month first"]
        if day_first and month_first:
            said = "Some of its days can only be day-month, others only month-day."
            questions.append(_asked("day-order-mixed", "days", said, column, [day_first[0], month_first[0]]))
        elif seen.lines["either"] and not day_first and not month_first:
            said = "Its days may be day-month or month-day; no row shows which."
            questions.append(_asked("day-order", "days", said, column, seen.lines["either"]))
        shown: DayOrder = "day-month-year" if day_first else "month-day-year" if month_first else "year-month-day"
        return replace(column, column=replace(column.column, days=shown)), questions


def _note_day(seen: _Seen, day: str, line: int) -> None:
    found = _DAY.fullmatch(day)
    if found is None:
        if day.replace(".", "", 1).replace(",", "", 1).isdigit():
            seen.note("serial", line)
        return
    if len(found[1]) == 4:
        return
    if len(found[3]) < 4:
        seen.note("short year", line)
    first, second = int(found[1]), int(found[2])
    day_first, month_first = first <= 31 and second <= 12, first <= 12 and second <= 31
    if day_first and month_first and first != second:
        seen.note("either", line)
    elif day_first != month_first:
        seen.note("day first" if day_first else "month first", line)


def _asked(code: str, setting: str, said: str, column: SettledColumn, lines: Iterable[int]) -> Question:
    header = column.column.header
    return Question(code, setting, f'Column {column.letter} "{header}": {said}', tuple(lines), column.letter, header)
