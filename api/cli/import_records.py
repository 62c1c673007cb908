"""`steelyard import`: files of old records into the record, tried out first, always; and the same work as a job."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from api.keeping.job_at_work import JobAtWork
    from api.records.file_import import ImportMode
    from api.settings import Settings


def import_job(settings: Settings, at_work: JobAtWork) -> str:
    """Do what an import waits for, for a worker."""
    from api.cli.import_work import work_on_import

    return work_on_import(at_work, str(at_work.request["import"]))


@click.command("import", short_help="Bring old records in from a CSV or NDJSON file.")
@click.argument("file", type=click.Path(exists=True, path_type=Path))
@click.option("--profile", help="An import profile: its code on the register, or a JSON file. An export needs none.")
@click.option("--commit", is_flag=True, help="Keep what was tried out, if no more is refused than allowed.")
@click.option(
    "--mode", type=click.Choice(["all", "each"]), default="all", show_default=True,
    help="The whole file or nothing, or each row for itself.",
)  # fmt: skip
@click.option(
    "--reject-limit", type=click.IntRange(0), default=0, show_default=True,
    help="In the mode each: no more refused visits than this.",
)  # fmt: skip
@click.option(
    "--report", type=click.Path(dir_okay=False, path_type=Path),
    help="Write what came of each row: into a .csv that is the file with columns before it, or .ndjson.",
)  # fmt: skip
@click.option("--by", default="unnamed", show_default=True, help="The code of whoever acts.")
def import_records(
    file: Path, profile: str | None, commit: bool, mode: ImportMode, reject_limit: int, report: Path | None, by: str
) -> None:
    """Bring the records of FILE in: one visit a row, one reading a row, one submission a line (NDJSON), or an export.

    The file is tried out first: every row is read, judged and counted, and nothing is kept. With --commit, what was tried
    out is then kept. The same file again adds nothing: each row is known by where it comes from. An import that was cut
    off goes on where it was when the same is asked again.
    """
    from api.cli.import_here import ImportHere
    from api.cli.record import opened_record
    from api.settings import settings_from_environment

    if profile is None:
        _import_export(file, mode, reject_limit, by, commit=commit)
        return
    if file.is_dir():
        raise click.ClickException(f"{file} is a folder; a profile reads a file.")
    with opened_record(settings_from_environment()) as engine:
        here = ImportHere(engine, by)
        name = here.received(file, profile, mode, reject_limit)
        told = here.worked(name, "Trying out")
        click.echo(here.said(told))
        if commit and told.state in ("tried out", "committing"):
            told = here.committed(told)
            click.echo(here.said(told))
        if report is not None:
            here.write_report(name, report)
    if told.state not in ("tried out", "done") or (told.tried is not None and told.tried.visits.rejected):
        raise click.exceptions.Exit(1)


def _import_export(file: Path, mode: ImportMode, reject_limit: int, by: str, *, commit: bool) -> None:
    """An export says itself how it is read."""
    from api.cli.import_export import ExportImport
    from api.cli.record import opened_record
    from api.exchange.export_read import is_export
    from api.settings import settings_from_environment

    if not is_export(file):
        raise click.UsageError("Missing option '--profile'. Only an export of this service is read without one.")
    with opened_record(settings_from_environment()) as engine:
        if not ExportImport(engine, file, by).all_in(mode, reject_limit, commit=commit):
            raise click.exceptions.Exit(1)
