"""`steelyard quarantine`: what arrived in a newer schema than this program's, and taking it up after an upgrade."""

from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from sqlalchemy import Engine

    from api.records.quarantine import QuarantinedArrival


@click.command(short_help="List what waits in quarantine, and take it up.")
@click.option("--take-up", is_flag=True, help="Record what this program can read by now.")
def quarantine(take_up: bool) -> None:
    """List the submissions that came in a schema newer than this program's, and are kept until one knows it.

    After an upgrade, --take-up reads them again: each that fits is judged and recorded as if it had arrived when it did,
    and waits no more; each that does not stays, with what is wrong. Nothing is ever removed.
    """
    from api.cli.record import opened_record
    from api.database import reading
    from api.queries.quarantine import waiting_in_quarantine
    from api.settings import settings_from_environment

    with opened_record(settings_from_environment()) as engine:
        with reading(engine) as connection:
            waiting = waiting_in_quarantine(connection)
        for arrival in waiting:
            told = arrival.told
            said = _taken_up(engine, arrival) if take_up else f"{told.schema}, received {told.received_at.isoformat()}"
            click.echo(f"{told.calibration} at {told.site}: {said}")
    click.echo(f"{len(waiting)} waited." if take_up else f"{len(waiting)} wait.")


def _taken_up(engine: "Engine", arrival: "QuarantinedArrival") -> str:
    from datetime import UTC, datetime

    from api.actions.record_calibration import record_calibration
    from api.cli.door import WrongShape, in_shape
    from api.database import unit_of_work
    from api.keeping.content import Arrived
    from api.keeping.unread_fields import CLOCK_NOT_READ, SENDER_NOT_READ
    from api.metrology.refusals import Refusal
    from schemas.strict_json import strict_json
    from schemas.submission import submission_of

    told, content = arrival.told, strict_json(arrival.body)
    arrived = Arrived(
        told.calibration, arrival.body, content, told.received_by, told.received_at, arrival.sent_at,
        tuple(note for note in (CLOCK_NOT_READ, SENDER_NOT_READ) if note.code in arrival.unread), datetime.now(UTC),
    )  # fmt: skip
    try:
        sent = in_shape(content, submission_of)
        receipt = unit_of_work(engine, lambda connection: record_calibration(connection, arrived, sent))
    except WrongShape as error:
        return f"stays; {'; '.join(error.lines)}"
    except Refusal as refusal:
        return f"stays; {refusal.sentence}"
    return f"recorded, {receipt.standing}, log entry {receipt.log_number}"
