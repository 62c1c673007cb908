"""`steelyard keys`: who is let in. It works on the record itself, at the machine: the first key is made here."""

from typing import Any

import click

from api.records.access_key import LONGEST_DAYS, USUAL_DAYS
from api.records.caller import SCOPES

_SCOPES = click.option(
    "--scope", "scopes", multiple=True, required=True, type=click.Choice(SCOPES), help="What it is for."
)
_SITES = click.option("--site", "sites", metavar="CODE", multiple=True, help="Where; at all sites where none is named.")
_DAYS = click.option(
    "--days", type=click.IntRange(1, LONGEST_DAYS), default=USUAL_DAYS, show_default=True, help="For how many days."
)
_BY = click.option("--by", default="steelyard", show_default=True, help="The code of whoever acts.")


@click.group(short_help="Make, list and revoke the keys that let requests in.")
def keys() -> None:
    """Make, list and revoke the keys that let requests in.

    An installation (an app, an interface) sends its key with every request; a person who releases, amends, voids or limits
    sends their own beside it. A holder has at most two active keys: make the second, change over, revoke the first.
    """


@keys.command(short_help="Make a key for an installation.")
@click.argument("installation")
@_SCOPES
@_SITES
@_DAYS
@_BY
def make(installation: str, scopes: tuple[str, ...], sites: tuple[str, ...], days: int, by: str) -> None:
    """Make a key for INSTALLATION, a code of your own choice. It is shown this once."""
    _made("installation", installation, scopes, sites, days, by)


@keys.command(short_help="Enrol a technician with a key of their own.")
@click.argument("technician")
@_SCOPES
@_SITES
@_DAYS
@_BY
def enrol(technician: str, scopes: tuple[str, ...], sites: tuple[str, ...], days: int, by: str) -> None:
    """Enrol TECHNICIAN, by the code on the register, with a key of their own. It is shown this once."""
    _made("person", technician, scopes, sites, days, by)


@keys.command("list", short_help="List the keys: holders, scopes, days, last use.")
@click.option("--all", "with_ended", is_flag=True, help="Also those that were revoked or have expired.")
def list_keys(with_ended: bool) -> None:
    """List the keys: names, holders, scopes, sites, days, when they were last used. Secrets are kept nowhere."""
    from datetime import UTC, datetime

    from api.cli.record import opened_record
    from api.database import reading
    from api.queries.access_keys import every_key
    from api.settings import settings_from_environment

    moment = datetime.now(UTC)
    with opened_record(settings_from_environment()) as engine, reading(engine) as connection:
        found = [key for key in every_key(connection) if with_ended or key.state(moment) == "active"]
    for key in found:
        used = key.used_at.isoformat(" ", "minutes") if key.used_at else "never"
        click.echo(
            f"{key.name}  {key.held_by:<12}  {key.holder:<12}  {key.state(moment):<7}  until {key.expires_at.date()}  "
            f"{' '.join(key.scopes)}  at {', '.join(key.sites) if key.sites else 'all sites'}; used {used}"
        )
    click.echo(f"{len(found)} key{'s' if len(found) != 1 else ''}.")


@keys.command(short_help="Revoke a key, at once.")
@click.argument("name")
@click.option("--because", required=True, help="Why; it is kept.")
@_BY
def revoke(name: str, because: str, by: str) -> None:
    """Revoke the key called NAME: it is refused from the next request on."""
    from datetime import UTC, datetime

    from api.actions.revoke_key import revoke_key
    from api.cli.door import in_shape
    from api.records.access_key import RevocationAsked
    from schemas.wire_shape import wire_shape

    asked: RevocationAsked = in_shape({"because": because}, wire_shape(RevocationAsked)().load)
    key, new = _done(lambda c: revoke_key(c, name, asked.because, by_whom=by, moment=datetime.now(UTC)))
    click.echo(f"{key.name} of {key.holder} {'is revoked' if new else f'was revoked on {key.revoked_at.date()}'}.")


def _made(held_by: str, holder: str, scopes: tuple[str, ...], sites: tuple[str, ...], days: int, by: str) -> None:
    from datetime import UTC, datetime

    from api.actions.make_key import make_key
    from api.cli.door import in_shape
    from api.ledger.key_text import PREFIX_OF, new_key_text
    from api.records.access_key import KeyAsked
    from schemas.wire_shape import wire_shape

    content = {"held_by": held_by, "holder": holder, "scopes": list(scopes), "days": days}
    asked: KeyAsked = in_shape(content | ({"sites": list(sites)} if sites else {}), wire_shape(KeyAsked)().load)
    new = new_key_text(PREFIX_OF[asked.held_by])
    made = _done(lambda c: make_key(c, asked, new, by_whom=by, moment=datetime.now(UTC)))
    click.echo(made.text)
    click.echo(
        f"Key {made.key.name} of {made.key.holder}, until {made.key.expires_at.date()}. Note it now: it is shown this once.",
        err=True,
    )


def _done(work: Any) -> Any:
    """Do a unit of work on the record of this installation; a refusal is told in a sentence."""
    from api.cli.record import opened_record
    from api.database import unit_of_work
    from api.metrology.refusals import Refusal
    from api.settings import settings_from_environment

    try:
        with opened_record(settings_from_environment()) as engine:
            return unit_of_work(engine, work)
    except Refusal as refusal:
        raise click.ClickException(refusal.sentence) from None
