"""How a file of old records is to be read: everything that a file cannot say of itself, declared by a person.

A profile is an entity of the register, so that it has revisions and every imported record names the one it was read by.
"""

from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated, Final, Literal, get_args

from api.metrology.mass import Mass
from api.metrology.terms import Between, Code, Line, Many, Name, Position, UnitCode, Whole
from api.metrology.terms import TestName as NameOfTest

Layout = Literal["a row a reading", "a row a visit", "a submission a line"]
Encoding = Literal["utf-8", "utf-16-le", "utf-16-be", "windows-1252", "iso-8859-1"]
Delimiter = Literal[",", ";", "tab", "|"]
DecimalSign = Literal[".", ","]
ThousandsSign = Literal["none", ".", ",", "'", "space"]
# A serial is a spreadsheet's count of days: from 1 January 1900 (with a 29 February 1900 that never was), or from 1904.
DayOrder = Literal["year-month-day", "day-month-year", "month-day-year", "serial from 1900", "serial from 1904"]
PhaseName = Literal["as found", "as left"]

VisitField = Literal[
    "calibration", "visit", "site", "device", "performed_on", "started_at", "ended_at", "technician", "purpose", "outcome",
    "ward", "weight_set", "procedure", "procedure_revision", "adjustment", "claimed_as_found", "claimed_as_left", "serial",
    "remarks",
]  # fmt: skip
ReadingField = Literal["phase", "test", "seq", "load", "load_unit", "indication", "unit", "pieces", "position"]
Field = Literal[VisitField, ReadingField]
VISIT_FIELDS: Final[tuple[VisitField, ...]] = get_args(VisitField)
READING_FIELDS: Final[tuple[ReadingField, ...]] = get_args(ReadingField)
# A visit is none without these; a profile says them once for the whole file where the file has no column for them.
REQUIRED: Final[tuple[Field, ...]] = ("site", "device", "performed_on", "technician", "purpose", "outcome")
MASS_FIELDS: Final[tuple[Field, ...]] = ("load", "indication")

Year = Annotated[int, Between(Decimal(1900), Decimal(2099))]


@dataclass(frozen=True, slots=True)
class Column:
    """One column of the file: its header as it stands there, the field it holds, and how its cells are written.

    What is left out here holds as the profile says it for the whole file. In a row a visit, a column of an indication also
    says which reading it is: `reading` numbers it, and columns of the same number belong to one reading.
    """

    header: Line
    field: Field
    decimal: DecimalSign | None = None
    thousands: ThousandsSign | None = None
    unit: UnitCode | None = None
    days: DayOrder | None = None
    fill_down: bool = False
    reading: Whole | None = None
    phase: PhaseName | None = None
    test: NameOfTest | None = None
    load: Mass | None = None
    position: Position | None = None


@dataclass(frozen=True, slots=True)
class Constant:
    """What holds for every row, because the file has no column for it."""

    field: Field
    value: Line


@dataclass(frozen=True, slots=True)
class Word:
    """What the file writes in a field, and the word that is meant."""

    field: Field
    found: Line
    means: Line


@dataclass(frozen=True, slots=True)
class ImportProfile:
    """A named way of reading files of old records from one source.

    `source` names where the records come from: together with a row's own key it makes the record's id, so that the same row
    is the same record however often it is imported. `nothing` lists the cells that mean that nothing was written;
    an empty cell always does. `year_pivot` is the first year that two digits may mean: 70 with 1970 is 1970, 69 is 2069.
    `ignored` lists the headers that are left out on purpose.
    """

    code: Code
    source: Code
    layout: Layout
    name: Name | None = None
    encoding: Encoding | None = None
    delimiter: Delimiter | None = None
    decimal: DecimalSign | None = None
    thousands: ThousandsSign | None = None
    unit: UnitCode | None = None
    days: DayOrder | None = None
    year_pivot: Year | None = None
    time_zone: Name | None = None
    nothing: Annotated[tuple[Line, ...], Many(30)] = ()
    columns: Annotated[tuple[Column, ...], Many(400)] = ()
    constants: Annotated[tuple[Constant, ...], Many(40)] = ()
    words: Annotated[tuple[Word, ...], Many(400)] = ()
    ignored: Annotated[tuple[Line, ...], Many(400)] = ()

    def constant(self, field: Field) -> str | None:
        """Return what holds for every row in a field, None where the profile says nothing of it."""
        return next((constant.value for constant in self.constants if constant.field == field), None)
