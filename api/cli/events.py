"""`steelyard events`: what happened to scales between their calibrations, and what of it is open."""

from datetime import datetime
from typing import get_args

import click

from api.metrology.device_events import EventKind


@click.command(short_help="List what happened to scales, and what is open.")
@click.argument("tag", required=False)
@click.option("--open", "only_open", is_flag=True, help="Only what is open.")
@click.option("--kind", type=click.Choice(get_args(EventKind)), help="Only events of this kind.")
@click.option("--site", help="Only of this site.")
@click.option(
    "--on", type=click.DateTime(["%Y-%m-%d"]), help="The day that counts. Default: today, where each scale stands."
)
def events(tag: str | None, only_open: bool, kind: str | None, site: str | None, on: datetime | None) -> None:
    """List events, the newest first, of the scale TAG or of all: when, what, whether it is open, what closed it, its id.

    Words are not shown here: read them with the event, at /v1/events/ID.
    """
    from datetime import UTC

    from api.answers.device_events import events_listed, events_of_device
    from api.answers.local_day import local_day
    from api.cli.record import opened_record
    from api.cli.told_event import told_event
    from api.database import reading
    from api.queries.device_events import EventsAsked
    from api.records.documents import document_of
    from api.settings import settings_from_environment

    day, moment = on.date() if on else None, datetime.now(UTC)
    with opened_record(settings_from_environment()) as engine, reading(engine) as connection:
        if tag:
            found = events_of_device(connection, tag, on=day or local_day(connection, tag, moment))
        else:
            found = events_listed(connection, EventsAsked(site, None, kind), at=moment, on=day)
    asked = [e for e in found if (e.open or not only_open) and kind in (None, e.kind) and site in (None, e.site)]
    for event in asked:
        click.echo(told_event(document_of(event)))
    click.echo(f"{len(asked)} events, {sum(event.open for event in asked)} open as of {day or 'today'}.")
