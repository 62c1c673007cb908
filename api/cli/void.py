"""`steelyard void`: a record speaks for nothing from now on; nothing is deleted."""

import click

from api.cli.acting import on_a_record, record_on


@click.command(short_help="Make a record void; nothing is deleted.")
@on_a_record
@click.option("--because", required=True, help="Why; it is shown with the record and its certificate.")
def void(calibration: str, site: str | None, to: str | None, by: str, because: str) -> None:
    """Make CALIBRATION void, with the key that STEELYARD_PERSON_KEY holds: it speaks for nothing from now on.

    It is still shown, with the reason; its certificate is withdrawn.
    """
    import json

    from api.cli.told import told_act

    with record_on(to, calibration, site, by) as record:
        click.echo(told_act(record.act("/void", json.dumps({"because": because}).encode())))
