"""`steelyard weights`: which weights to take on a round, on the terminal."""

from collections.abc import Iterator
from datetime import datetime
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from api.records.round import DeviceOnRound, RoundAnswer


@click.command(short_help="List the weights to take on a round.")
@click.argument("tags", metavar="TAG...", nargs=-1, required=True)
@click.option(
    "--set", "sets", metavar="CODE", multiple=True, help="A set to choose from; all in force where none is named."
)
@click.option("--on", type=click.DateTime(["%Y-%m-%d"]), help="The day that counts. Default: today (UTC).")
@click.option("--technician", metavar="CODE", help="Who goes: no piece over the limit on that record is taken.")
def weights(tags: tuple[str, ...], sets: tuple[str, ...], on: datetime | None, technician: str | None) -> None:
    """List the lightest lot of weights that makes every load of the scales TAG..., and the pieces for each load."""
    from datetime import UTC

    from api.answers.weights_to_take import weights_for
    from api.cli.record import opened_record
    from api.database import reading
    from api.metrology.refusals import Refusal
    from api.records.round import RoundAsked
    from api.settings import settings_from_environment

    day = on.date() if on else datetime.now(UTC).date()
    with opened_record(settings_from_environment()) as engine, reading(engine) as connection:
        try:
            found = weights_for(connection, RoundAsked(day, tags, sets, technician))
        except Refusal as refusal:
            raise click.ClickException(refusal.sentence) from None
    click.echo("\n".join(_lines(found)))


def _lines(found: "RoundAnswer") -> Iterator[str]:
    yield f"Weights to take on {found.on}: {found.total_kg:f} kg in {found.pieces_out} pieces."
    if found.proven:
        yield "No lot is lighter, or as light with fewer pieces."
    else:
        yield f"The search ended early: no lot is lighter than {found.least_kg:f} kg."
    for some in found.sets:
        yield f"\n{some.weight_set}: {some.kg:f} kg, {len(some.pieces)} pieces"
        yield from (f"  [ ] {p.piece:<16} {p.nominal.shown}" for p in some.pieces)
    for device in found.devices:
        yield from _device(device)
    for staying in found.not_with_these:
        yield f"\n{staying.device}: {staying.why}"
    for left in found.left_out:
        yield f"left out: {left.piece}, {left.why}"
    for held in found.held:
        yield f"held: {held.piece}. {held.why}"
    yield ""
    yield from (f"{caution.code}  {caution.text}" for caution in found.cautions)


def _device(device: "DeviceOnRound") -> Iterator[str]:
    yield f"\n{device.device} ({device.kind}, {device.ward}, {device.place}): {device.proves}"
    if device.index is not None:
        yield (
            f"  {device.lifts} lifts, {device.moved_kg:f} kg moved; lifting index {device.index.index:.1f} for "
            f"{device.heaviest_kg:f} kg, {device.index.situation}"
        )
    if (whole := device.whole_plan) is not None:
        yield f"  the whole plan: {whole.lifts} lifts, {whole.kg:f} kg moved"
    yield from (f"  {load.made_kg:f} kg: {', '.join(load.pieces)}" for load in device.loads)
    yield from (
        f"  {load.made_kg:f} kg (corners, repeats, own steps): {', '.join(load.pieces)}" for load in device.others
    )
    yield from (f"  {load.why}" for load in device.impossible)
