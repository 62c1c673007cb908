"""`steelyard due`: what is due, the longest first."""

from datetime import datetime

import click


@click.command(short_help="List what is due, the longest first.")
@click.option("--on", type=click.DateTime(["%Y-%m-%d"]), help="The day that counts. Default: today (UTC).")
@click.option("--site", help="Only of this site.")
@click.option(
    "--within", type=click.IntRange(0, 3660), metavar="DAYS", help="Only what is due within so many days, or overdue."
)
def due(on: datetime | None, site: str | None, within: int | None) -> None:
    """List the scales by their due date, the longest due first, with where each stands.

    A scale is due so many calendar months after it was last left within tolerance; an attempt, or a visit that left it
    out of tolerance, moves nothing.
    """
    from datetime import UTC

    from api.answers.due import due_list
    from api.cli.record import opened_record
    from api.database import reading
    from api.settings import settings_from_environment

    day = on.date() if on else datetime.now(UTC).date()
    with opened_record(settings_from_environment()) as engine, reading(engine) as connection:
        found = due_list(connection, on=day, site=site, within_days=within)
    for item in found:
        click.echo(
            f"{str(item.due or '-'):<10}  {item.device:<10}  {item.state:<16}  {item.site}/{item.ward:<8}  {item.basis}"
        )
    click.echo(f"{len(found)} scales as of {day}.")
