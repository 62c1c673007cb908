"""`steelyard life`: everything that happened to a record, in order."""

import click

from api.cli.acting import on_a_record, record_on


@click.command(short_help="Show everything that happened to a record.")
@on_a_record
def life(calibration: str, site: str | None, to: str | None, by: str) -> None:
    """Show the life of CALIBRATION: as sent, as judged, where it stood, who did what and why, in order."""
    from api.cli.told import told_life

    with record_on(to, calibration, site, by) as record:
        click.echo(told_life(record.read("/life")))
