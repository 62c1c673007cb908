"""What a file of old records may look like: a template, the profile that reads it, and a Table Schema that describes it.

The schema is a Table Schema of the Data Package standard, version 2.0. All three are made from one list of columns.
"""

from dataclasses import dataclass
from typing import Any, Final, Literal, get_args

from api.exchange.field_cells import WORDS
from api.metrology.mass import KILOGRAMS_PER, mass
from api.records.import_profile import Column, Field, ImportProfile, PhaseName, ReadingField, VisitField

TemplateLayout = Literal["reading", "visit"]
_CODE: Final = r"[A-Za-z0-9](?:[A-Za-z0-9 ._-]{0,38}[A-Za-z0-9])?"


@dataclass(frozen=True, slots=True)
class Described:
    """A field in words: what it holds, of which type of the Table Schema, whether every row needs it, an example."""

    says: str
    example: str
    required: bool = False
    kind: str = "string"
    pattern: str | None = None


VISIT: Final[dict[VisitField, Described]] = {
    "calibration": Described(
        "The record's id, where the file is an export of this service; else empty.", "0193f0aa-0000-7000-8000-000000000009",
        pattern=r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}",
    ),
    "visit": Described("The source's own key of the visit, unique at the site.", "2019-0417", True),
    "site": Described("The site's code.", "QG", True, pattern=_CODE),
    "device": Described("The scale's tag, as text: zeros count.", "A-04", True, pattern=_CODE),
    "performed_on": Described("The day of the visit.", "2019-03-14", True, "date"),
    "started_at": Described("When it began, by the clock of the place.", "09:05", pattern=r"[0-2]?[0-9]:[0-5][0-9]"),
    "ended_at": Described("When it ended, by the clock of the place.", "09:50", pattern=r"[0-2]?[0-9]:[0-5][0-9]"),
    "technician": Described("The technician's code, never a name; several joined by +.", "T-01", True),
    "purpose": Described("Why it was calibrated.", "scheduled", True),
    "outcome": Described("How far it came.", "completed", True),
    "ward": Described("The ward's code.", "QG-CDU", pattern=_CODE),
    "weight_set": Described("The weight set's code.", "FS-1", pattern=_CODE),
    "procedure": Described("The written procedure's code.", "WP-STAND", pattern=_CODE),
    "procedure_revision": Described("The procedure's revision.", "3", pattern=_CODE),
    "adjustment": Described("What was adjusted between as found and as left; empty where nothing was.", "span"),
    "claimed_as_found": Described("The old record's verdict as found. Kept beside ours.", "pass"),
    "claimed_as_left": Described("The old record's verdict as left. Kept beside ours.", "pass"),
    "serial": Described("The serial seen, as text.", "QH033811"),
    "remarks": Described("What else the record says. No patient data.", "castors replaced"),
}  # fmt: skip
READING: Final[dict[ReadingField, Described]] = {
    "phase": Described("Before anything was touched, or after the last change.", "as found", True),
    "test": Described("Which test the reading belongs to.", "increasing", True),
    "seq": Described("The reading's number in its phase.", "1", kind="integer"),
    "load": Described("The load placed, in the row's unit.", "100", kind="number"),
    "load_unit": Described("The unit of the load, where it is not the row's, by its UCUM code.", "kg"),
    "indication": Described("What the display showed, every digit, in the row's unit.", "100.1", kind="number"),
    "unit": Described("The unit of the row's masses, by its UCUM code.", "kg", True),
    "pieces": Described("The weights that made the load, by code, joined by +.", "FS1-20-01+FS1-20-02"),
    "position": Described("Where the load stood.", "centre"),
}
_SAID: Final[dict[str, Described]] = dict([*VISIT.items(), *READING.items()])
# Loads of a row a visit: a template to be changed, common practice, no source.
_LOADS: Final = ("50", "100", "150")
_WORD_LIST: Final = WORDS | {"unit": tuple(KILOGRAMS_PER), "load_unit": tuple(KILOGRAMS_PER)}


def template_columns(layout: TemplateLayout) -> tuple[Column, ...]:
    """Return the columns of a template as a profile maps them: headers are the fields' own names."""
    visit = tuple(Column(header=name, field=name) for name in VISIT)
    if layout == "reading":
        return (*visit, *(Column(header=name, field=name) for name in READING))
    phases: tuple[PhaseName, ...] = get_args(PhaseName)
    readings = [
        Column(f"{phase} {load} kg", "indication", unit="kg", phase=phase, test="increasing", load=mass(load, "kg"))
        for phase in phases
        for load in _LOADS
    ]
    return (*visit, *readings)


def template_profile(layout: TemplateLayout) -> ImportProfile:
    """Return the profile that reads a template as it is."""
    rows: Literal["a row a reading", "a row a visit"] = "a row a reading" if layout == "reading" else "a row a visit"
    return ImportProfile(
        code=f"template-{layout}", source="template", layout=rows, name=f"The template, a row a {layout}", delimiter=",",
        decimal=".", thousands="none", days="year-month-day", columns=template_columns(layout),
    )  # fmt: skip


def template_csv(layout: TemplateLayout) -> str:
    """Return the template: its header, ready to be filled in."""
    return ",".join(column.header for column in template_columns(layout)) + "\r\n"


def table_schema(layout: TemplateLayout) -> dict[str, Any]:
    """Return the Table Schema of a template."""
    fields = [_field(column) for column in template_columns(layout)]
    found: dict[str, Any] = {"fields": fields, "missingValues": [""], "fieldsMatch": "exact"}
    return found if layout == "reading" else found | {"primaryKey": ["visit"]}


def _field(column: Column) -> dict[str, Any]:
    name: Field = column.field
    said = _SAID[name]
    required = said.required and column.load is None
    constraints: dict[str, Any] = {"required": required}
    if name in _WORD_LIST:
        constraints["enum"] = list(_WORD_LIST[name])
    if said.pattern is not None:
        constraints["pattern"] = said.pattern
    title = column.header.replace("_", " ")
    return {
        "name": column.header, "title": title, "type": said.kind, "description": said.says, "example": said.example,
        "constraints": constraints,
    }  # fmt: skip
