"""`steelyard link`: a code that was not known when a record was sent, and what the register has for it since."""

from typing import get_args

import click

from api.cli.acting import on_a_record, record_on
from api.metrology.terms import LinkKind


@click.command(short_help="Link a code of a record to what the register has since.")
@on_a_record
@click.option("--kind", required=True, type=click.Choice(get_args(LinkKind)), help="What the code names.")
@click.option("--as-sent", required=True, metavar="CODE", help="The code as it was sent.")
@click.option("--key", required=True, metavar="CODE", help="The code under which the register has it.")
@click.option("--because", required=True, help="How that is known; it is kept.")
def link(
    calibration: str, site: str | None, to: str | None, by: str, kind: str, as_sent: str, key: str, because: str
) -> None:
    """Link a code of CALIBRATION, with the key that STEELYARD_PERSON_KEY holds; the record is judged again beside."""
    import json

    from api.cli.told import told_act

    asked = {"kind": kind, "as_sent": as_sent, "key": key, "because": because}
    with record_on(to, calibration, site, by) as record:
        click.echo(told_act(record.act("/links", json.dumps(asked).encode())))
