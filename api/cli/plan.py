"""`steelyard plan`: what to do on a scale, step by step, on the terminal."""

from datetime import datetime

import click


@click.command(short_help="Print the plan of a calibration.")
@click.argument("tag")
@click.option("--set", "weight_set", metavar="CODE", help="The weight set whose pieces in force that day are used.")
@click.option("--on", type=click.DateTime(["%Y-%m-%d"]), help="The day that counts. Default: today where it stands.")
@click.option("--technician", metavar="CODE", help="Who goes: no piece over the limit on that record is used.")
@click.option("--largest-piece", metavar="MASS", help='The heaviest piece that may be lifted, as "10 kg".')
@click.option("--ward", metavar="CODE", help="The ward where it will be tested. Default: its own.")
def plan(
    tag: str,
    weight_set: str | None,
    on: datetime | None,
    technician: str | None,
    largest_piece: str | None,
    ward: str | None,
) -> None:
    """Print every step for the scale TAG: loads, pieces, places, tolerances, cautions, and what to write down.

    Its digest goes into the record as `procedure.plan`. Without a set, loads are told without pieces.
    """
    from datetime import UTC

    from api.answers.local_day import local_day
    from api.answers.plan import plan_for
    from api.cli.record import opened_record
    from api.cli.told_plan import told_plan
    from api.database import reading
    from api.metrology.mass import mass
    from api.metrology.refusals import Refusal
    from api.records.documents import document_of
    from api.records.plan import PlanAsked
    from api.settings import settings_from_environment

    with opened_record(settings_from_environment()) as engine, reading(engine) as connection:
        try:
            day = on.date() if on else local_day(connection, tag, datetime.now(UTC))
            number, _, unit = (largest_piece or "").partition(" ")
            heaviest = mass(number, unit) if largest_piece else None
            found = plan_for(connection, tag, PlanAsked(day, weight_set, technician, heaviest, ward))
        except Refusal as refusal:
            raise click.ClickException(refusal.sentence) from None
    click.echo(told_plan(document_of(found)))
