"""How the invented network's old spreadsheets are read: what they wrote before they had this service.

One visit a row, the span as left only: no reading as found, and no word of the weights.
"""

from typing import Final

from api.metrology.mass import mass
from api.records.import_profile import Column, Constant, ImportProfile, Word

OLD_SPREADSHEET: Final = ImportProfile(
    code="old-spreadsheet", source="WORKSHOP-SHEET", layout="a row a visit", name="The workshop's old spreadsheet",
    delimiter=";", decimal=",", thousands="none", days="day-month-year", nothing=("-", "n/a"),
    columns=(
        Column("No.", "visit"),
        Column("Tag", "device"),
        Column("Day", "performed_on"),
        Column("Span left (kg)", "indication", phase="as left", test="increasing", load=mass("100", "kg")),
        Column("Result", "claimed_as_left"),
        Column("Note", "remarks"),
    ),
    constants=(
        Constant("site", "QG"), Constant("technician", "T-01"), Constant("purpose", "scheduled"),
        Constant("outcome", "partly completed"),
    ),
    words=(Word("claimed_as_left", "OK", "pass"), Word("claimed_as_left", "not OK", "fail")),
)  # fmt: skip
