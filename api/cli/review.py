"""`steelyard review`: a reviewer says what a record is held back for, and releases nothing."""

import click

from api.cli.acting import on_a_record, record_on


@click.command(short_help="Leave a remark on a record that everybody sees.")
@on_a_record
@click.option("--words", required=True, help="What is to be said.")
def review(calibration: str, site: str | None, to: str | None, by: str, words: str) -> None:
    """Leave a remark on CALIBRATION, with the key that STEELYARD_PERSON_KEY holds: everybody sees why it is held back."""
    import json

    from api.cli.told import told_act

    with record_on(to, calibration, site, by) as record:
        click.echo(told_act(record.act("/review", json.dumps({"words": words}).encode())))
