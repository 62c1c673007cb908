"""`steelyard close`: the end of an open event, in a person's own words."""

import click

from api.cli.acting import answered, on_a_service, service_on


@click.command(short_help="Close an open event of a scale, in words.")
@click.argument("event")
@click.option("--words", required=True, help="What was looked at and found. No person's name (C-11).")
@click.option("--site", metavar="CODE", help="Of which site, where several have an event of this id.")
@on_a_service
def close(event: str, words: str, site: str | None, to: str | None, by: str) -> None:
    """Close the open EVENT (its id, as steelyard events lists it), with the key that STEELYARD_PERSON_KEY holds.

    Who looked into it answers for it.
    """
    import json

    from api.cli.told_event import told_event

    at = f"?site={site}" if site else ""
    with service_on(to) as service:
        told = answered(service.post(f"/v1/events/{event}/close{at}", json.dumps({"words": words}).encode(), by=by))
    click.echo(told_event(told))
