"""`steelyard limit`: a person's limit of use, in writing, for a time."""

from datetime import datetime

import click

from api.cli.acting import answered, on_a_service, service_on


@click.command(short_help="Limit a scale in writing, for a time.")
@click.argument("tag")
@click.argument("up_to", metavar="LOAD")
@click.option("--until", required=True, type=click.DateTime(["%Y-%m-%d"]), help="The last day on which it holds.")
@click.option("--reason", required=True, help="Why. No person's name (C-11).")
@click.option("--at", metavar="MOMENT", help="From when on, with its offset: 2026-10-14T09:00:00-06:00. Default: now.")
@on_a_service
def limit(tag: str, up_to: str, until: datetime, reason: str, at: str | None, to: str | None, by: str) -> None:
    """Limit the scale TAG to a LOAD such as "120 kg", until a day, with the key that STEELYARD_PERSON_KEY holds.

    The register has the limit from then on, and the scale's page says it. What is open about the scale stays open.
    """
    from api.cli.told_event import moment_told, sent_with_id, told_event_receipt

    value, _, unit = up_to.partition(" ")
    content = {
        "schema": "limit/1", "up_to": {"value": value, "unit": unit}, "until": until.date().isoformat(),
        "happened_at": moment_told(at), "reason": reason,
    }  # fmt: skip
    with service_on(to) as service:
        told = answered(service.post(f"/v1/devices/{tag}/limits", sent_with_id(content), by=by))
    click.echo(told_event_receipt(told))
