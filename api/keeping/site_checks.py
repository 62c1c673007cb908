"""A change of the register keeps to the sites of whoever asks for it: of what it makes, and of what stands there."""

from typing import Any

from sqlalchemy import Connection

from api.database import sites_in_sight
from api.keeping.register_change import RegisterChange
from api.queries.register import Chain, chains_of
from api.records.caller import check_own_site
from api.records.problems import AddressTaken, SiteNotInKey
from api.records.register import KIND_NAMED, EntityKind, Revision
from api.records.weight import WeightCertificate


def check_sites(connection: Connection, change: RegisterChange, chain: Chain) -> None:
    """Refuse to change what belongs to a site, or to the network, beyond what is in sight (`SiteNotInKey`).

    A key that another site holds is refused as any address that is taken (`AddressTaken`): nothing is said of its holder.
    """
    sites = sites_in_sight(connection)
    if sites is None:
        return
    kind = KIND_NAMED[change.kind]
    if isinstance(change.record, WeightCertificate):
        for certificate in (change.record, *(revision.record for revision in chain[-1:])):
            _check_pieces(connection, certificate, sites)
        return
    if kind.site_field is None:
        named = ", ".join(sorted(sites))
        said = f"A {kind.name} belongs to the whole network: only a key for all sites changes it. This one is for: {named}."
        raise SiteNotInKey(said, sites=named)
    check_own_site(str(kind.site_of(change.record)), sites)
    for newest in chain[-1:]:
        _check_held(kind, newest, sites)


def _check_held(kind: EntityKind, newest: Revision[Any], sites: frozenset[str]) -> None:
    site = str(kind.site_of(newest.record))
    if kind.travels:  # every key sees it, so that nothing is given away
        check_own_site(site, sites)
    if site not in sites:
        raise AddressTaken(f"The {kind.name} code {newest.key!r} is taken; choose another.", key=newest.key)


def _check_pieces(connection: Connection, certificate: WeightCertificate, sites: frozenset[str]) -> None:
    """A certificate is put on the register by the sites that keep its pieces; a piece that is not known is told later."""
    kind = KIND_NAMED["weight"]
    for chain in chains_of(connection, "weight", [entry.piece for entry in certificate.pieces]).values():
        for newest in chain[-1:]:
            check_own_site(str(kind.site_of(newest.record)), sites)
