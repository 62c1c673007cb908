"""`steelyard bundle`: everything for going offline with the scales of a site, in a file."""

from datetime import datetime
from pathlib import Path

import click


@click.command(short_help="Write everything for going offline into a file.")
@click.argument("site")
@click.option("--ward", metavar="CODE", help="Only the scales of this ward.")
@click.option("--set", "weight_set", metavar="CODE", help="The weight set that is taken along: plans name its pieces.")
@click.option("--technician", metavar="CODE", help="Who goes: no piece over the limit on that record is used.")
@click.option("--on", type=click.DateTime(["%Y-%m-%d"]), help="The day that counts. Default: today at the site.")
@click.option("--to", "file", type=click.Path(dir_okay=False, path_type=Path), help="The file. Default: SITE-DAY.json.")
def bundle(
    site: str,
    ward: str | None,
    weight_set: str | None,
    technician: str | None,
    on: datetime | None,
    file: Path | None,
) -> None:
    """Write what is due at SITE, the plans with the tolerance at each point, how each scale was left, limits, open flags,
    weights with their validity and the cautions into a file: what `GET /v1/bundle` answers.
    """
    from datetime import UTC

    import orjson

    from api.answers.bundle import bundle_for
    from api.answers.local_day import local_day_at
    from api.cli.record import opened_record
    from api.database import reading
    from api.metrology.refusals import Refusal
    from api.records.bundle import BundleAsked
    from api.records.documents import document_of
    from api.settings import settings_from_environment

    with opened_record(settings_from_environment()) as engine, reading(engine) as connection:
        try:
            day = on.date() if on else local_day_at(connection, site, datetime.now(UTC))
            found = bundle_for(connection, BundleAsked(site, day, ward, weight_set, technician))
        except Refusal as refusal:
            raise click.ClickException(refusal.sentence) from None
    to = file or Path(f"{site}-{day.isoformat()}.json")
    to.write_bytes(orjson.dumps(document_of(found)))
    click.echo(f"{len(found.devices)} scales, {len(found.weights)} weights, as of log entry {found.log_number}: {to}")
