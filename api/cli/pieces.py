"""`steelyard pieces`: weights counted out and in, held after a mishap, and whether they may be used. At the machine."""

from collections.abc import Iterator
from datetime import datetime
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from api.records.weight_event import WeightEventReceipt, WeightLife, WeightSetLife

_SITE = click.option("--site", metavar="CODE", required=True, help="The site where it happened.")
_BY = click.option("--by", metavar="CODE", required=True, help="The technician, by the code on the register.")
_PIECES = click.argument("codes", metavar="PIECE...", nargs=-1, required=True)
_SET = click.argument("weight_set", metavar="SET")


@click.group(short_help="Count weights out and in; hold what was dropped.")
def pieces() -> None:
    """Count weights out and in, hold pieces after a mishap, and say whether a piece or a set may be used.

    Everything is told as happening now. Comparisons and releases come through the service, where a person answers for them.
    """


@pieces.command(short_help="Count the pieces of a set out.")
@_SET
@_PIECES
@click.option("--round", "round_", metavar="WORDS", required=True, help="The round that they are taken on.")
@_SITE
@_BY
def out(weight_set: str, codes: tuple[str, ...], round_: str, site: str, by: str) -> None:
    """Check PIECE... of SET out to a technician, for a round."""
    _tell({"kind": "checked out", "weight_set": weight_set, "pieces": list(codes), "round": round_}, site, by)


@pieces.command("in", short_help="Count the pieces of a set back in; what is missing is named.")
@_SET
@click.argument("codes", metavar="PIECE...", nargs=-1)
@_SITE
@_BY
def count_in(weight_set: str, codes: tuple[str, ...], site: str, by: str) -> None:
    """Count PIECE... of SET back in. What went out and is not among them is named, and held until it is seen."""
    _tell({"kind": "counted in", "weight_set": weight_set, "pieces": list(codes)}, site, by)


@pieces.command(short_help="Hold pieces that were dropped, washed or damaged.")
@_PIECES
@click.option("--because", type=click.Choice(("dropped", "washed", "damaged")), required=True, help="What happened.")
@_SITE
@_BY
def hold(codes: tuple[str, ...], because: str, site: str, by: str) -> None:
    """Hold PIECE... from now on, until a person releases it on a comparison or a new certificate."""
    _tell({"kind": because, "pieces": list(codes)}, site, by)


@pieces.command(short_help="Say whether a piece or a set may be used, and why not.")
@click.argument("code")
@click.option("--on", type=click.DateTime(["%Y-%m-%d"]), help="The day that counts. Default: today (UTC).")
def life(code: str, on: datetime | None) -> None:
    """Say whether the piece or set CODE may be used, why not, with whom it is, and what happened to it last."""
    from datetime import UTC

    from api.answers.weight_life import life_of_set, life_of_weight
    from api.cli.record import opened_record
    from api.database import reading
    from api.metrology.refusals import Refusal
    from api.queries.register import find_in_force
    from api.settings import settings_from_environment

    day = on.date() if on else datetime.now(UTC).date()
    with opened_record(settings_from_environment()) as engine, reading(engine) as connection:
        is_set = find_in_force(connection, "weight set", code, on=day) is not None
        try:
            lines = (
                _set(life_of_set(connection, code, day)) if is_set else _piece(life_of_weight(connection, code, day))
            )
        except Refusal as refusal:
            raise click.ClickException(refusal.sentence) from None
    click.echo("\n".join(lines))


def _tell(what: dict[str, Any], site: str, by: str) -> None:
    from datetime import UTC
    from uuid import uuid4

    from api.actions.record_weight_event import record_weight_event
    from api.cli.door import in_shape
    from api.cli.record import opened_record
    from api.database import unit_of_work
    from api.keeping.content import Arrived
    from api.ledger.digests import stored_bytes
    from api.settings import settings_from_environment
    from schemas.weight_events import weight_event_of

    now = datetime.now(UTC)
    content = {
        "schema": "weight-event/1",
        "site": site,
        "happened_at": now.isoformat(),
        "by": by,
    } | what
    sent = in_shape(content, weight_event_of)
    arrived = Arrived(str(uuid4()), stored_bytes(content), content, by, now)
    with opened_record(settings_from_environment()) as engine:
        receipt = unit_of_work(engine, lambda connection: record_weight_event(connection, arrived, sent))
    click.echo("\n".join(_receipt(receipt)))


def _receipt(receipt: "WeightEventReceipt") -> Iterator[str]:
    yield f"{receipt.kind}: kept as {receipt.event}, log entry {receipt.log_number}"
    if receipt.missing:
        yield f"missing: {', '.join(receipt.missing)}"
    if receipt.not_counted_on:
        yield f"not to be counted on: {', '.join(receipt.not_counted_on)}"
    yield from (f"flag {flag.code}: {flag.sentence}" for flag in receipt.flags)
    yield from (f"{caution.code}  {caution.text}" for caution in receipt.cautions)


def _piece(found: "WeightLife") -> Iterator[str]:
    yield f"{found.piece} on {found.on}: {'may be used' if found.may_be_used else 'may not be used'}."
    yield from (f"  {why.sentence}" for why in found.why)
    if found.out:
        yield f"  out with {found.out.by}, {found.out.round}, since {found.out.since:%Y-%m-%d %H:%M} UTC"
    yield from (f"  {e.counts_from:%Y-%m-%d %H:%M} UTC  {e.kind}" for e in found.events[:5])


def _set(found: "WeightSetLife") -> Iterator[str]:
    yield f"{found.weight_set} on {found.on}: {found.may_be_used} may be used."
    if found.out:
        yield f"  out with {found.out.by}, {found.out.round}, since {found.out.since:%Y-%m-%d %H:%M} UTC"
    for piece in found.pieces:
        yield from (f"  {piece.piece}: {why.sentence}" for why in piece.why)
