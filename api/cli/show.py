"""`steelyard show`: what the register holds, as JSON."""

from datetime import datetime

import click

from api.records.register import KINDS


@click.command(short_help="Show what the register holds.")
@click.argument("kind", type=click.Choice([kind.name for kind in KINDS]))
@click.argument("key", required=False)
@click.option("--on", type=click.DateTime(["%Y-%m-%d"]), help="In force on this day. Default: today (UTC).")
@click.option(
    "--known-at", type=click.IntRange(0), metavar="NUMBER", help="As known at log entry NUMBER. Default: now."
)
def show(kind: str, key: str | None, on: datetime | None, known_at: int | None) -> None:
    """Show what the register holds of a KIND, or the one with a KEY: in force on a day, as known at log entry NUMBER."""
    import json
    from datetime import UTC

    from api.answers.register_notes import noted
    from api.cli.record import opened_record
    from api.database import reading
    from api.metrology.refusals import Refusal
    from api.queries.register import all_in_force, in_force
    from api.records.documents import document_of
    from api.settings import settings_from_environment

    day = on.date() if on else datetime.now(UTC).date()
    with opened_record(settings_from_environment()) as engine, reading(engine) as connection:
        try:
            found = (
                noted(connection, in_force(connection, kind, key, on=day, known_at=known_at), day)
                if key
                else [noted(connection, r, day) for r in all_in_force(connection, kind, on=day, known_at=known_at)]
            )
        except Refusal as refusal:
            raise click.ClickException(refusal.sentence) from None
    click.echo(json.dumps(document_of(found), indent=2, ensure_ascii=False))
