"""The files of an export, in their order: the record's own rows first, then what is made of them for people."""

from collections.abc import Callable, Generator, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any, Final, TypeVar

import orjson
from sqlalchemy import Connection, Engine

from api.database import reading
from api.exchange.dialects import DIALECTS, Dialect
from api.exchange.export_profile import readings_profile
from api.exchange.export_segments import Key, Source, Written, no_rows
from api.exchange.export_table import ExportTable
from api.exchange.register_tables import CERTIFICATES, DEVICES
from api.exchange.visit_tables import CALIBRATIONS, READINGS, rows_of_readings
from api.queries.dossiers import certificates_issued, devices_known, dossiers
from api.queries.exported_rows import exported_rows
from api.queries.exported_tables import EXPORTED, Exported
from api.queries.log_span import LogSpan
from api.records.documents import document_of
from api.records.dossier import Dossier
from api.records.export import ExportAsked

T = TypeVar("T")
LINES: Final = "calibrations.ndjson"
Rows = Generator[Written, None, None]


@dataclass(frozen=True, slots=True)
class Exporting:
    """One export at work: the record it reads, what was asked, the stretch of the log, and the day of its end."""

    engine: Engine
    asked: ExportAsked
    span: LogSpan
    on: date | None

    @property
    def sites(self) -> frozenset[str] | None:
        """The sites that it is of, None where it is of all."""
        return None if self.asked.sites is None else frozenset(self.asked.sites)

    def each(self, read: Callable[[Connection], Iterator[T]], write: Callable[[T], Written]) -> Rows:
        """Give what is made of everything that a reader finds, on a connection of its own."""
        with reading(self.engine) as connection:
            self.span.look(connection)
            for item in read(connection):
                yield write(item)


def sources_of(export: Exporting) -> list[Source]:
    """Return every file of an export but its manifest, in the order in which they are written."""
    found = [Source(LINES, lambda after: _lines(export, after), in_parts=True)]
    found += [_table_source(export, exported) for exported in EXPORTED]
    for dialect in DIALECTS:
        found += _for_people(export, dialect)
    return found


def _line(document: Mapping[str, Any]) -> bytes:
    return orjson.dumps(document, option=orjson.OPT_APPEND_NEWLINE)


def _table_source(export: Exporting, exported: Exported) -> Source:
    def rows(after: Key | None) -> Rows:
        return export.each(
            lambda connection: exported_rows(connection, exported, export.span, export.sites, after),
            lambda row: Written(row.key, _line(row.document)),
        )

    return Source(exported.path, rows, in_parts=exported.path.startswith("record/"))


def _dossiers(
    export: Exporting, after: Key | None, write: Callable[[Dossier], Written], *, with_points: bool = False
) -> Rows:
    name = None if after is None else (after[0], after[1])
    return export.each(
        lambda connection: dossiers(connection, export.span, export.sites, name, with_points=with_points), write
    )


def _lines(export: Exporting, after: Key | None) -> Rows:
    return _dossiers(export, after, _importable)


def _importable(visit: Dossier) -> Written:
    """A calibration as an import reads it; a void one leaves none, so that no import makes it stand again."""
    if visit.standing.standing == "void":
        return Written(visit.key, b"", 0)
    judged = {
        "program": visit.judgement.program,
        "as_found": visit.judgement.as_found,
        "as_left": visit.judgement.as_left,
    }
    line = {
        "calibration": visit.content.calibration, "site": visit.content.site, "revision": visit.content.revision,
        "standing": visit.standing.standing, "judged": judged, "bytes": visit.text,
    }  # fmt: skip
    return Written(visit.key, _line(line))


def _for_people(export: Exporting, dialect: Dialect) -> Iterator[Source]:
    """The tables in one dialect, a Table Schema beside each, and the profile that reads the readings back."""
    folder = f"csv/{dialect.name}"

    def table(found: ExportTable[Any], rows: Callable[[Key | None], Rows]) -> Iterator[Source]:
        yield Source(f"{folder}/{found.name}.csv", rows, found.header(dialect))
        yield _fixed(f"{folder}/{found.name}.schema.json", found.schema(dialect))

    yield from table(DEVICES, lambda after: _devices(export, dialect, after))
    yield from table(CALIBRATIONS, lambda after: _calibrations(export, dialect, after))
    yield from table(READINGS, lambda after: _readings(export, dialect, after))
    yield from table(CERTIFICATES, lambda after: _certificates(export, dialect, after))
    yield _fixed(f"{folder}/readings.profile.json", document_of(readings_profile(dialect)))


def _fixed(path: str, document: Mapping[str, Any]) -> Source:
    return Source(path, no_rows, orjson.dumps(document, option=orjson.OPT_INDENT_2) + b"\n")


def _devices(export: Exporting, dialect: Dialect, after: Key | None) -> Rows:
    tag = None if after is None else after[0]
    return export.each(
        lambda connection: devices_known(connection, export.span, export.sites, tag, export.on or date.min),
        lambda device: Written((device[0].key,), DEVICES.row(device, dialect)),
    )


def _calibrations(export: Exporting, dialect: Dialect, after: Key | None) -> Rows:
    return _dossiers(export, after, lambda visit: Written(visit.key, CALIBRATIONS.row(visit, dialect)))


def _readings(export: Exporting, dialect: Dialect, after: Key | None) -> Rows:
    def written(visit: Dossier) -> Written:
        rows = rows_of_readings(visit, dialect)
        return Written(visit.key, b"".join(rows), len(rows))

    return _dossiers(export, after, written, with_points=True)


def _certificates(export: Exporting, dialect: Dialect, after: Key | None) -> Rows:
    last = None if after is None else (after[0], after[1], after[2])
    return export.each(
        lambda connection: certificates_issued(connection, export.span, export.sites, last),
        lambda found: Written((found.row.site, found.row.number, found.row.revision), CERTIFICATES.row(found, dialect)),
    )
