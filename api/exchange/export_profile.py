"""The import profile that reads an export's table of readings back, in either dialect."""

from typing import Final

from api.exchange.dialects import Dialect
from api.exchange.visit_tables import READINGS
from api.records.import_profile import Column, Field, ImportProfile

CODE: Final = "export-readings"
# Under which header of the table each field stands. What the service had judged is claimed where it is read back.
_FIELDS: Final[dict[str, Field]] = {
    "calibration": "calibration", "site": "site", "device": "device", "started_at": "performed_on", "ended_at": "ended_at",
    "technicians": "technician", "purpose": "purpose", "outcome": "outcome", "ward": "ward", "weight_set": "weight_set",
    "procedure": "procedure", "procedure_revision": "procedure_revision", "adjustment": "adjustment", "serial": "serial",
    "remarks": "remarks", "as_found": "claimed_as_found", "as_left": "claimed_as_left", "phase": "phase", "test": "test",
    "seq": "seq", "load": "load", "load_unit": "load_unit", "indication": "indication", "unit": "unit", "pieces": "pieces",
    "position": "position",
}  # fmt: skip


def readings_profile(dialect: Dialect) -> ImportProfile:
    """Return the profile that reads the table as it is."""
    headers = [column.name for column in READINGS.columns]
    return ImportProfile(
        code=CODE, source="export", layout="a row a reading", name=f"Readings of an export, {dialect.name}",
        encoding="utf-8", delimiter=dialect.delimiter, decimal=dialect.decimal, thousands="none",
        days="year-month-day", columns=tuple(Column(header, _FIELDS[header]) for header in headers if header in _FIELDS),
        ignored=tuple(header for header in headers if header not in _FIELDS),
    )  # fmt: skip
