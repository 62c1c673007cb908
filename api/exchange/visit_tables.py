"""The tables of an export about visits: a row a calibration, and a row a reading.

Headers of the readings are the fields of an import profile where there is one: `export_profile` reads the table back.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Final

from api.exchange.dialects import Dialect
from api.exchange.export_table import Column, ExportTable, figures, joined, shown, unit_of
from api.exchange.visit_readings import PHASES
from api.metrology.mass import Mass
from api.records.documents import read_mass
from api.records.dossier import Dossier


@dataclass(frozen=True, slots=True)
class ReadingOf:
    """One reading of a visit: its phase, what was sent of it, and the judged point where it is one."""

    visit: Dossier
    phase: str
    sent: dict[str, Any]
    point: Any

    def mass(self, name: str) -> Mass | None:
        """Return a mass of the reading."""
        return read_mass(self.sent[name]) if name in self.sent else None


def readings_of(visit: Dossier) -> Iterator[ReadingOf]:
    """Give every reading of a visit, in the order taken."""
    for phase, name in PHASES.items():
        for reading in visit.sent.get(name, {}).get("readings", ()):
            yield ReadingOf(visit, phase, reading, visit.points.get((name, reading["seq"])))


def _performed(visit: Dossier, end: str) -> str:
    moment: str = visit.sent["performed"][end]
    return moment.upper()


def _part(visit: Dossier, name: str, part: str) -> str | None:
    found: str | None = visit.sent.get(name, {}).get(part)
    return found


def _adjusted(visit: Dossier) -> str | None:
    """What was adjusted, the last of several: the one that the as-left readings follow."""
    adjustments: list[dict[str, Any]] = visit.sent.get("adjustments") or [{}]
    found: str | None = adjustments[-1].get("type")
    return found


def _serial(visit: Dossier) -> str | None:
    items = visit.sent.get("identity", ())
    return next((item.get("seen") for item in items if item["item"] == "serial"), None)


_VISIT: Final[tuple[Column[Dossier], ...]] = (
    Column("calibration", "The calibration's id.", lambda visit: visit.content.calibration),
    Column("site", "The site's code.", lambda visit: visit.content.site),
    Column("device", "The scale's tag as it was sent, as text: zeros count.", lambda visit: visit.sent["device"]),
    Column(
        "started_at", "When the visit began, with its offset.", lambda visit: _performed(visit, "start"), "datetime"
    ),
    Column("ended_at", "When it ended, with its offset.", lambda visit: _performed(visit, "end"), "datetime"),
    Column("technicians", "The technicians' codes, joined by +.", lambda visit: joined(visit.sent["technicians"])),
    Column("purpose", "Why it was calibrated.", lambda visit: visit.content.purpose),
    Column("outcome", "How far it came.", lambda visit: visit.content.outcome),
    Column("ward", "The ward's code as it was sent.", lambda visit: visit.sent.get("ward")),
    Column("weight_set", "The weight set's code.", lambda visit: visit.sent.get("weight_set")),
    Column("procedure", "The written procedure's code.", lambda visit: _part(visit, "procedure", "code")),
    Column("procedure_revision", "Its revision.", lambda visit: _part(visit, "procedure", "revision")),
    Column("adjustment", "What was adjusted; empty where nothing was.", _adjusted),
    Column("serial", "The serial seen, as text.", _serial),
    Column("remarks", "What else was said.", lambda visit: visit.sent.get("remarks")),
    Column("as_found", "The verdict as found.", lambda visit: visit.judgement.as_found),
    Column("as_left", "The verdict as left.", lambda visit: visit.judgement.as_left),
)

CALIBRATIONS: Final[ExportTable[Dossier]] = ExportTable(
    "calibrations",
    "A row a calibration: its newest content, judged last.",
    (
        *_VISIT,
        Column("revision", "The revision of what was sent.", lambda visit: visit.content.revision, "integer"),
        Column("judgement", "The number of the judgement.", lambda visit: visit.judgement.number, "integer"),
        Column("reasons", "Why something was not done, joined by +.", lambda v: joined(v.sent.get("reasons", ()))),
        Column(
            "on_register", "Whether the device was on the register.", lambda visit: visit.content.device is not None,
            "boolean",
        ),
        Column("app_as_found", "The app's own verdict as found.", lambda visit: visit.judgement.app_as_found),
        Column("app_as_left", "The app's own verdict as left.", lambda visit: visit.judgement.app_as_left),
        Column("standing", "Where it stands.", lambda visit: visit.standing.standing),
        Column("standing_since", "Since when it stands there.", lambda visit: visit.standing.moment, "datetime"),
        Column("certificate", "The certificate's number.", lambda visit: visit.certificate),
        Column("flags", "The codes of what was flagged, joined by +.", lambda visit: joined(visit.flags)),
        Column("received_at", "When it first arrived.", lambda visit: visit.received_at, "datetime"),
        Column("imported", "Whether it came out of a file of old records.", lambda v: v.imported, "boolean"),
        Column("readings", "How many readings it has.", lambda visit: len(list(readings_of(visit))), "integer"),
    ),
    ("site", "calibration"),
)  # fmt: skip


def _of_visit(column: Column[Dossier]) -> Column[ReadingOf]:
    return Column(column.name, column.says, lambda reading: column.cell(reading.visit), column.kind)


def _worked_out(name: str, says: str, field: str) -> Column[ReadingOf]:
    return Column(
        name, says, lambda reading: figures(getattr(reading.point, field)) if reading.point else None, "number"
    )


_READING: Final[tuple[Column[ReadingOf], ...]] = (
        Column("phase", "Before anything was touched, or after the last change.", lambda reading: reading.phase),
        Column("test", "Which test the reading belongs to.", lambda reading: reading.sent["test"]),
        Column("seq", "The reading's number in its phase.", lambda reading: reading.sent["seq"], "integer"),
        Column("load", "The load placed, in load_unit.", lambda r: shown(r.mass("load")), "number"),
        Column("load_unit", "The unit of load, by its UCUM code.", lambda r: unit_of(r.mass("load"))),
        Column(
            "indication", "What the display showed, every digit, in unit; empty where it showed several units at once.",
            lambda reading: shown(reading.mass("indication")), "number",
        ),
        Column("unit", "The unit of indication, by its UCUM code.", lambda r: unit_of(r.mass("indication"))),
        Column("pieces", "The weights that made the load, joined by +.", lambda r: joined(r.sent.get("pieces", ()))),
        Column("position", "Where the load stood.", lambda reading: reading.sent.get("position")),
        Column("excluded", "Why it does not count, where it does not.", lambda reading: reading.sent.get("excluded")),
        Column(
            "indication_kg", "What the display showed, in kilograms, exactly.",
            lambda reading: read_mass(reading.sent["indication"]).kg, "number",
        ),
        _worked_out("error_kg", "Indication minus reference, in kilograms.", "error_kg"),
        _worked_out("tolerance_kg", "The tolerance at the load, in kilograms.", "tolerance_kg"),
        _worked_out("expanded_uncertainty_kg", "The expanded uncertainty, in kilograms.", "expanded_kg"),
        Column("verdict", "The verdict on the point.", lambda r: r.point.verdict if r.point else None),
)  # fmt: skip

READINGS: Final[ExportTable[ReadingOf]] = ExportTable(
    "readings",
    "A row a reading of what stands, with what its visit says in every row; void calibrations have none here.",
    (*map(_of_visit, _VISIT), *_READING),
    ("site", "calibration", "phase", "seq"),
)


def rows_of_readings(visit: Dossier, dialect: Dialect) -> list[bytes]:
    """Return the rows of a visit's readings; what all of them begin with is written once.

    A void calibration has none, so that nobody who reads the table back makes it stand again.
    """
    if visit.standing.standing == "void":
        return []
    behind = dialect.cells([column.cell(visit) for column in _VISIT])
    return [dialect.row([column.cell(reading) for column in _READING], behind) for reading in readings_of(visit)]
