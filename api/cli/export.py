"""`steelyard export`: everything on record, into files that anybody can read and a service can read back."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from sqlalchemy import Engine

    from api.keeping.job_at_work import JobAtWork
    from api.records.export import ExportAsked, FileExported
    from api.settings import Settings


@click.command(short_help="Write everything on record into files.")
@click.option(
    "--to", type=click.Path(path_type=Path),
    help="A ZIP archive (FILE.zip), or a folder that is not there yet; steelyard-N.zip where left out, N the log's number.",
)  # fmt: skip
@click.option("--site", "sites", multiple=True, help="Only of this site; may be given again. All sites where left out.")
@click.option("--since", type=click.IntRange(0), default=0, help="Only what was written after this log entry.")
def export(to: Path | None, sites: tuple[str, ...], since: int) -> None:
    """Write everything on record into files: every row of the record as lines of JSON, tables for people as CSV in two
    dialects, and a manifest with counts and digests.

    The same record at the same log entry gives the same bytes. Others may write meanwhile: what they write is not part of
    it. steelyard import reads it back: into the same record it adds nothing. Keys' secrets, names of persons and jobs are
    left out; the manifest says so.
    """
    from api.cli.export_begun import up_to_now
    from api.cli.record import opened_record
    from api.settings import settings_from_environment

    with opened_record(settings_from_environment()) as engine:
        asked = up_to_now(engine, since, tuple(sorted(set(sites))) or None)
        _check_sites(engine, sites)
        to = to or Path(f"steelyard-{asked.until}.zip")
        if to.exists():
            raise click.ClickException(f"{to} is there already; name another.")
        files = _written(engine, asked, to)
    rows = sum(file.rows for file in files)
    click.echo(f"{to}: {len(files)} files, {rows} rows, as of log entry {asked.until}.")


def _check_sites(engine: Engine, sites: tuple[str, ...]) -> None:
    from api.database import reading
    from api.queries.register import chain_of

    with reading(engine) as connection:
        unknown = [site for site in sites if not chain_of(connection, "site", site)]
    if unknown:
        raise click.ClickException(f"No site {', '.join(map(repr, unknown))} is on the register.")


def _written(engine: Engine, asked: ExportAsked, to: Path) -> list[FileExported]:
    """Under another name until it is whole: a file of the right name is never half an export."""
    from api.cli.export_here import ArchiveTarget, FolderTarget, write_export

    unfinished = to.with_name(f"{to.name}.unfinished")
    with click.progressbar(length=100, label="Exporting") as bar:

        def told(done: int, of: int) -> None:
            bar.update(100 * done // of - bar.pos)

        if to.suffix == ".zip":
            with unfinished.open("wb") as opened:
                files = write_export(engine, asked, ArchiveTarget(opened), told)
        else:
            unfinished.mkdir(parents=True)
            files = write_export(engine, asked, FolderTarget(unfinished), told)
    unfinished.rename(to)
    return files


def export_job(settings: Settings, at_work: JobAtWork) -> str:
    """Make an export that was asked for, for a worker."""
    from api.cli.export_work import work_on_export

    return work_on_export(at_work, str(at_work.request["export"]))
