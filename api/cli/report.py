"""`steelyard report`: trouble with a scale, as it is told at the desk."""

from typing import get_args

import click

from api.cli.acting import answered, on_a_service, service_on
from api.metrology.device_events import Trouble


@click.command(short_help="Report trouble with a scale; it counts at once.")
@click.argument("tag")
@click.argument("kind", type=click.Choice(get_args(Trouble)))
@click.option("--site", required=True, help="The site where it happened.")
@click.option("--for", "reported_for", required=True, metavar="ROLE", help="For which role: no person's name.")
@click.option("--words", help="What happened. No patient's name or number, no person's name (C-11).")
@click.option("--at", metavar="MOMENT", help="When, with its offset: 2026-10-14T09:00:00-06:00. Default: now.")
@on_a_service
def report(
    tag: str, kind: str, site: str, reported_for: str, words: str | None, at: str | None, to: str | None, by: str
) -> None:
    """Report trouble of a KIND with the scale TAG to a running service, after a call from the ward.

    Whether it may be used follows at once. A tag that is not on the register is kept all the same, and listed. The same
    report of the same moment told twice is kept once. STEELYARD_KEY needs the scope report.
    """
    from api.cli.told_event import moment_told, sent_with_id, told_event_receipt

    content = {
        "schema": "report/1", "site": site, "device": tag, "kind": kind, "happened_at": moment_told(at),
        "reported_for": reported_for,
    } | ({"words": words} if words else {})  # fmt: skip
    with service_on(to) as service:
        told = answered(service.post(f"/v1/devices/{tag}/reports", sent_with_id(content), by=by))
    click.echo(told_event_receipt(told))
