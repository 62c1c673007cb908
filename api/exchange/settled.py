"""How a file is read once nothing is left open: encoding, delimiter, and every column with its conventions."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from difflib import get_close_matches

from api.exchange.cell_text import cleaned
from api.exchange.decoded import Encoded
from api.exchange.masses import unit_in_header
from api.exchange.table_rows import letter_of
from api.metrology.mass import KILOGRAMS_PER
from api.records.import_faults import CellPlace, Question
from api.records.import_profile import MASS_FIELDS, REQUIRED, Column, Delimiter, Field, ImportProfile


@dataclass(frozen=True, slots=True)
class SettledColumn:
    """A column of the file as it is read: where it stands, and what the profile, its header or its cells say of it."""

    index: int
    letter: str
    column: Column

    def at(self, line: int) -> CellPlace:
        """Return the place of its cell in the row that begins on a line."""
        return CellPlace(line, self.letter, self.column.header, self.column.field)


@dataclass(frozen=True, slots=True)
class Settled:
    """How a file is read; `header_line` is 0 where it has no header (NDJSON)."""

    encoded: Encoded | None = None
    delimiter: Delimiter | None = None
    header_line: int = 0
    header: tuple[str, ...] = ()
    columns: tuple[SettledColumn, ...] = ()

    def of(self, field: Field) -> SettledColumn | None:
        """Return the first column of a field."""
        return next((column for column in self.columns if column.column.field == field), None)


def header_among(rows: Sequence[Sequence[str]], profile: ImportProfile) -> int:
    """Return the place of the row that is the header: the first of those that hold most of the profile's headers."""
    wanted = {cleaned(column.header) for column in profile.columns}
    held = [len(wanted & {cleaned(cell) for cell in cells}) for cells in rows]
    if not any(held):
        return next((place for place, cells in enumerate(rows) if any(map(cleaned, cells))), 0)
    return held.index(max(held))


def matched(header: Sequence[str], profile: ImportProfile) -> tuple[list[SettledColumn], list[Question]]:
    """Return the columns that the profile maps, and a question for each header that is missing, there twice, or unmapped."""
    columns, questions = [], []
    texts = [cleaned(cell) for cell in header]
    for column in profile.columns:
        places = [place for place, text in enumerate(texts) if text == cleaned(column.header)]
        if len(places) == 1:
            columns.append(SettledColumn(places[0], letter_of(places[0]), _with_conventions(column, profile)))
        else:
            questions.append(_not_once(column, places, texts))
    known = {cleaned(text) for text in (*(c.header for c in profile.columns), *profile.ignored)}
    for place, text in enumerate(texts):
        if text and text not in known:
            said = f'Column {letter_of(place)} "{text}" is neither mapped nor ignored.'
            questions.append(Question("column-unmapped", "columns or ignored", said, (), letter_of(place), text))
    return sorted(columns, key=lambda c: c.index), questions


def _not_once(column: Column, places: Sequence[int], texts: Sequence[str]) -> Question:
    if places:
        letters = ", ".join(letter_of(place) for place in places)
        said = f'Columns {letters} all have the header "{column.header}".'
        return Question("column-twice", "columns", said, (), letter_of(places[0]), column.header)
    near = get_close_matches(column.header, [text for text in texts if text], n=1)
    hint = f' Nearest: "{near[0]}".' if near else ""
    said = f'The profile maps "{column.header}", and no column has that header.{hint}'
    return Question("column-missing", "columns", said, (), None, column.header)


def _with_conventions(column: Column, profile: ImportProfile) -> Column:
    unit = column.unit or _header_unit(column)
    return replace(
        column, decimal=column.decimal or profile.decimal, thousands=column.thousands or profile.thousands,
        unit=unit or profile.unit, days=column.days or profile.days,
    )  # fmt: skip


def _header_unit(column: Column) -> str | None:
    found = unit_in_header(column.header) if column.field in MASS_FIELDS else None
    return found if found in KILOGRAMS_PER else None


def undeclared(profile: ImportProfile) -> list[Question]:
    """Return a question for each field that every visit needs and the profile neither maps nor says once for all."""
    mapped = {column.field for column in profile.columns} | {constant.field for constant in profile.constants}
    wanted: list[Field] = [*REQUIRED]
    if profile.layout == "a row a reading":
        wanted += ["phase", "test", "indication"]
    questions = [
        Question("field-missing", "columns or constants", f"Nothing in the profile says the {name} of a visit.")
        for name in wanted
        if name not in mapped
    ]
    if profile.layout == "a row a visit":
        questions += [
            Question(
                "reading-unplaced",
                "columns",
                f'Column "{c.header}" does not say its phase and its test.',
                (),
                None,
                c.header,
            )
            for c in profile.columns
            if c.field == "indication" and not (c.phase and c.test)
        ]
    return questions
