"""An import worked on in this process, for the command: received, tried out, committed, with a bar."""

import hashlib
import os
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

import click
from sqlalchemy import Engine

from api.actions.commit_import import commit_import
from api.actions.receive_import import FileReceived, receive_import
from api.cli.door import through_the_door
from api.cli.import_helper import Helper
from api.cli.import_work import HereAndNow, Progress, work_on_import
from api.database import reading, unit_of_work
from api.exchange.packed import unpacked
from api.exchange.report import report_lines, table_report
from api.metrology.refusals import Refusal
from api.queries.imports import import_run, pieces_of, rows_told, unended
from api.queries.register import in_force
from api.records.file_import import FileImport, ImportMode
from api.records.import_profile import ImportProfile
from schemas.imports import profile_of

PIECE = 1024 * 1024
MOST_GROUPS = 20
# A helper takes about a second to start: as long as it takes to judge some hundred visits, which are a few megabytes.
WORTH_A_HELPER = 4 * 1024 * 1024


class ImportHere:
    """Imports into the record of this installation, by whoever acts."""

    def __init__(self, engine: Engine, by: str) -> None:
        self._engine = engine
        self._by = by

    def received(self, file: Path, profile: str, mode: ImportMode, reject_limit: int) -> str:
        """Return the import that a file is, read by a profile of the register or of a JSON file."""
        return self.received_as(file, *self._profile(profile), mode, reject_limit)

    def received_as(
        self, file: Path, found: ImportProfile, revision: int | None, mode: ImportMode, reject_limit: int
    ) -> str:
        """Return the import that a file is: one that was begun and has not ended goes on, else a new one."""
        try:
            digest, size = _digest(file)
            with reading(self._engine) as connection:
                begun = unended(connection, digest, found, mode)
            if begun is not None:
                return begun
            received = FileReceived(
                str(uuid.uuid4()), file.name[:40], digest, size, found, revision, mode, reject_limit, None, self._by,
                datetime.now(UTC),
            )  # fmt: skip
            unit_of_work(self._engine, lambda connection: receive_import(connection, received, _pieces(file), None))
        except Refusal as refusal:
            raise click.ClickException(f"{file.name}: {refusal.sentence}") from None
        return received.file_import

    def _profile(self, named: str) -> tuple[ImportProfile, int | None]:
        """A profile of the register and its revision, or one out of a JSON file."""
        file = Path(named)
        if file.suffix == ".json":
            if not file.is_file():
                raise click.ClickException(f"There is no file {named}.")
            return through_the_door(file.read_bytes(), profile_of), None
        try:
            with reading(self._engine) as connection:
                found = in_force(connection, "import profile", named, on=datetime.now(UTC).date())
        except Refusal as refusal:
            raise click.ClickException(f"{refusal.sentence} Or name a JSON file.") from None
        return found.record, found.number

    def worked(self, name: str, label: str) -> FileImport:
        """Do what an import waits for, and return it."""
        bar = _Bar(self._engine, name, label)
        with self._helper(name) as helper:
            work_on_import(HereAndNow(self._engine, bar.told), name, helper)
        bar.end()
        return self._told(name)

    @contextmanager
    def _helper(self, name: str) -> Iterator[Helper | None]:
        """A helper for a file that is worth its start, where there is a processor for it."""
        if (os.cpu_count() or 1) < 2 or self._told(name).file_bytes < WORTH_A_HELPER:
            yield None
            return
        helper = Helper(self._engine.url.render_as_string(hide_password=False))
        try:
            yield helper
        finally:
            helper.close()

    def committed(self, told: FileImport) -> FileImport:
        """Commit an import that was tried out, or go on with one that was cut off, and return it."""
        name, moment = told.file_import, datetime.now(UTC)
        if told.state == "tried out":
            try:
                unit_of_work(self._engine, lambda c: commit_import(c, name, told.etag, self._by, moment, None))
            except Refusal as refusal:
                raise click.ClickException(f"{refusal.sentence} Nothing was kept.") from None
        return self.worked(name, "Keeping")

    def _told(self, name: str) -> FileImport:
        with reading(self._engine) as connection:
            return import_run(connection, name).told

    def said(self, told: FileImport) -> str:
        """Return how far an import is, what is asked, what came of its rows, and its faults by code."""
        lines = [f"{told.name}: {told.state}. {told.because or ''}".rstrip()]
        lines += [f"  {question.message} Declare: {question.setting}." for question in told.questions]
        totals = told.kept or told.tried
        if totals is not None:
            r = totals.rows
            parts = ((r.created, "created"), (r.replayed, "replayed"), (r.noted, "noted"), (r.rejected, "rejected"))
            sum_of = " + ".join(f"{n} {word}" for n, word in (*parts, (r.skipped, "skipped")))
            lines.append(f"  {r.read} rows read = {sum_of}")
            for group in totals.faults[:MOST_GROUPS]:
                at = ", ".join(map(str, group.lines))
                lines.append(f"  {group.severity} {group.code}: {group.count}, first at line {at}")
        return "\n".join(lines)

    def write_report(self, name: str, file: Path) -> None:
        """Write what came of each row: a line of JSON each, or the file itself with columns before it."""
        with reading(self._engine) as connection:
            run = import_run(connection, name)
            told = list(rows_told(connection, name, run.attempt))
        if file.suffix == ".ndjson":
            file.write_text("".join(report_lines(told)), "utf-8")
            return
        with file.open("wb") as opened:
            opened.writelines(table_report(pieces_of(self._engine, name), run.settled, told))


def _pieces(file: Path) -> Iterator[bytes]:
    with file.open("rb") as opened:
        yield from unpacked(iter(lambda: opened.read(PIECE), b""))


def _digest(file: Path) -> tuple[str, int]:
    digest, size = hashlib.sha256(), 0
    for piece in _pieces(file):
        digest.update(piece)
        size += len(piece)
    return f"sha256:{digest.hexdigest()}", size


class _Bar:
    """A progress bar over the rows of a file; how many there are is known after the first look."""

    def __init__(self, engine: Engine, name: str, label: str) -> None:
        self._engine, self._name, self._label = engine, name, label
        self._bar: click._termui_impl.ProgressBar[int] | None = None
        self._rows = 0

    def told(self, progress: Progress) -> None:
        """Move the bar to the rows done."""
        if self._bar is None:
            with reading(self._engine) as connection:
                kinds = import_run(connection, self._name).told.kinds_of_rows
            self._bar = click.progressbar(length=max(1, sum(kinds.values())), label=self._label)
            self._bar.render_progress()
        self._bar.update(progress["rows"] - self._rows)
        self._rows = progress["rows"]

    def end(self) -> None:
        """Leave the bar."""
        if self._bar is not None:
            self._bar.render_finish()
