"""The `publish` command, which joins `steelyard` by entry point, and the same work as a job of `steelyard work`."""

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, date, datetime
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from api.keeping.job_at_work import JobAtWork
    from api.settings import Settings


@click.command(short_help="Publish the record as a static site.")
@click.option(
    "--into",
    type=click.Path(path_type=Path, file_okay=False),
    help="The folder the site is served from. Default: the site folder of the settings.",
)
@click.option(
    "--as-of",
    type=click.DateTime(["%Y-%m-%d"]),
    help="The day the pages speak of, for example 2026-11-25. Default: today (UTC).",
)
@click.option("--quiet", is_flag=True, help="Show no progress.")
def publish(into: Path | None, as_of: datetime | None, quiet: bool) -> None:
    """Publish the record as a static site.

    The whole site is built beside the one that is served, every link is followed, and only then are the two swapped, in
    one step. If anything fails, the served site stays as it was. The folder becomes a link to the newest build.

    The same record on the same day gives the same site, byte for byte; build.json lists every file with its digest.
    """
    from sqlalchemy.exc import DBAPIError

    from api.settings import settings_from_environment
    from site_builder.refused import CannotPublish

    settings = settings_from_environment()
    try:
        said = _published(settings, into or settings.site_folder, as_of.date() if as_of else None, quiet)
    except CannotPublish as refused:
        raise click.ClickException(str(refused)) from refused
    except DBAPIError as error:
        said = str(error.orig).strip().splitlines()[0]
        raise click.ClickException(
            f"The record at {settings.shown_database} cannot be read ({said}). Run: steelyard migrate"
        ) from None
    click.echo(said)


def publish_job(settings: "Settings", at_work: "JobAtWork") -> str:
    """Publish into the site folder as a job and return what came of it; the request may name a day, `as_of`."""
    asked = at_work.request.get("as_of")
    return _published(settings, settings.site_folder, date.fromisoformat(asked) if asked else None, quiet=True)


def _published(settings: "Settings", into: Path, as_of: date | None, quiet: bool) -> str:
    from api.database import make_engine, reading
    from site_builder.gather import gather
    from site_builder.publish import publish as publish_fleet
    from site_builder.whole_site import page_count

    day = as_of or datetime.now(UTC).date()
    engine = make_engine(settings.database_url)
    with reading(engine) as connection:
        fleet = gather(connection, day, _shown_as("Reading the record", quiet))
    engine.dispose()
    with _bar("Writing the pages", page_count(fleet), quiet) as written:
        done = publish_fleet(fleet, into.absolute(), written=written)
    return f"Published {done.pages} pages at log entry {done.log_number}, as of {done.as_of}: {done.folder}"


def _shown_as(label: str, quiet: bool) -> Callable[[list[Any]], Iterator[Any]]:
    """Return what wraps a list so that going through it moves a bar."""

    def counted(items: list[Any]) -> Iterator[Any]:
        with click.progressbar(items, label=label, hidden=quiet, file=sys.stderr) as bar:
            yield from bar

    return counted


@contextmanager
def _bar(label: str, length: int, quiet: bool) -> Iterator[Callable[[], None]]:
    """Give what moves a bar by one."""
    bar: Any = click.progressbar(length=length, label=label, hidden=quiet, file=sys.stderr)
    with bar:
        yield partial(bar.update, 1)
