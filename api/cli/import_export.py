"""`steelyard import EXPORT`: an export read back, the register first, then the calibrations under their own ids."""

import tempfile
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Final

import click
import orjson
from sqlalchemy import Engine

from api.actions.put_back_register import PutBack, RevisionRead, put_back_register
from api.cli.door import in_shape
from api.cli.import_here import ImportHere
from api.database import transaction, unit_of_work
from api.exchange.export_read import ExportRead, NotAnExport
from api.keeping.register_change import RegisterChange
from api.metrology.refusals import Refusal
from api.models.register import REVISIONS
from api.records.file_import import FileImport, ImportMode
from api.records.import_profile import ImportProfile
from api.records.register import KIND_NAMED
from schemas.register import change_from

PROFILE: Final = ImportProfile("export", "export", "a submission a line", "Calibrations of an export")
MOST_NAMED: Final = 5


class _TriedOnly(Exception):
    """The register was tried out; nothing of it is kept."""


class ExportImport:
    """One export on its way into the record of this installation."""

    def __init__(self, engine: Engine, file: Path, by: str) -> None:
        self._engine, self._file, self._by = engine, file, by
        self._here = ImportHere(engine, by)

    def all_in(self, mode: ImportMode, reject_limit: int, *, commit: bool) -> bool:
        """Try the export out, keep it if asked, tell what comes of it; return whether all of it is in, or could be."""
        read = self._opened()
        try:
            told = self._register(read, commit=commit)
            click.echo(_said_of_register(told, kept=commit))
            imports = [self._part(read, path, mode, reject_limit, commit=commit) for path in _parts(read)]
        except (NotAnExport, Refusal) as refused:
            raise click.ClickException(f"{self._file.name}: {getattr(refused, 'sentence', refused)}") from None
        finally:
            read.close()
        return not told.apart and all(map(_is_in_order, imports))

    def _opened(self) -> ExportRead:
        try:
            return ExportRead(self._file)
        except NotAnExport as refused:
            raise click.ClickException(str(refused)) from None

    def _register(self, read: ExportRead, *, commit: bool) -> PutBack:
        """Every revision in the order of the log; kept all together or not at all, and not at all where it is tried out."""
        moment = datetime.now(UTC)
        lines = [line for kind in REVISIONS for line in _lines(read, f"register/{REVISIONS[kind].name}.ndjson", kind)]
        lines.sort(key=lambda line: (line[1]["log_number"], line[0], line[1]["key"]))
        revisions = [_revision(kind, line, self._by, moment) for kind, line in lines]
        if commit:
            return unit_of_work(self._engine, lambda connection: put_back_register(connection, revisions))
        found: list[PutBack] = []
        try:
            with transaction(self._engine) as connection:
                found.append(put_back_register(connection, revisions))
                raise _TriedOnly
        except _TriedOnly:
            return found[0]

    def _part(self, read: ExportRead, path: str, mode: ImportMode, reject_limit: int, *, commit: bool) -> FileImport:
        with tempfile.TemporaryDirectory() as folder:
            file = Path(folder) / path
            with file.open("wb") as opened:
                read.copy(path, opened)
            name = self._here.received_as(file, PROFILE, None, mode, reject_limit)
        told = self._here.worked(name, "Trying out")
        if commit and told.state in ("tried out", "committing") and told.tried is not None:
            told = self._here.committed(told)
        click.echo(self._here.said(told))
        return told


def _parts(read: ExportRead) -> list[str]:
    return read.named("calibrations-*.ndjson")


def _lines(read: ExportRead, path: str, kind: str) -> Iterator[tuple[str, dict[str, Any]]]:
    if not read.named(path):
        return
    with tempfile.TemporaryFile() as file:
        read.copy(path, file)
        file.seek(0)
        for line in file:
            yield kind, orjson.loads(line)


def _revision(kind: str, line: dict[str, Any], by: str, moment: datetime) -> RevisionRead:
    """A line through the register's own door: it is not taken on trust that the export was made by a service."""
    content = {"valid_from": line["valid_from"], "record": orjson.loads(line["document"])}
    asked = in_shape(content, lambda found: change_from(KIND_NAMED[kind], found), f"{kind} {line['key']}")
    change = RegisterChange(kind, str(line["key"]), asked.valid_from, asked.record, by, moment)
    return RevisionRead(int(line["revision"]), change)


def _said_of_register(told: PutBack, *, kept: bool) -> str:
    total = told.new + told.already
    said = f"register: {total} revisions = {told.new} {'new' if kept else 'to put on'} + {told.already} there already."
    if not told.apart:
        return said
    named = ", ".join(f"{kind} {key}" for kind, key in told.apart[:MOST_NAMED])
    more = f" and {len(told.apart) - MOST_NAMED} more" if len(told.apart) > MOST_NAMED else ""
    return f"{said}\n  left as they are here, because they were changed otherwise: {named}{more}."


def _is_in_order(told: FileImport) -> bool:
    return told.state in ("tried out", "done") and not (told.tried and told.tried.visits.rejected)
