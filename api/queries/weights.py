"""Pieces as the metrology sees them on a day: nominal value, class, and the certificate in force that day."""

from collections.abc import Sequence
from datetime import date
from typing import Any

from sqlalchemy import Connection

from api.metrology.densities import density_of
from api.metrology.weights import CertifiedMass, Piece
from api.queries.register import certificates_of, chains_of, derived, standing_on
from api.records.register import Revision
from api.records.weight import Weight, WeightCertificate


def pieces_on(connection: Connection, codes: Sequence[str], on: date) -> dict[str, Piece]:
    """Return the pieces that were on the register on a day, each with its certificate in force then, if any."""
    asked = ("pieces", tuple(codes), on)
    return derived(connection, asked, lambda: _pieces_on(connection, codes, on))


def _pieces_on(connection: Connection, codes: Sequence[str], on: date) -> dict[str, Piece]:
    weights = chains_of(connection, "weight", codes)
    numbers = certificates_of(connection, [code for code in codes if weights[code]])
    documents = chains_of(connection, "weight certificate", [n for found in numbers.values() for n in found])
    certificates = {number: standing_on(chain, on) for number, chain in documents.items()}
    pieces = {}
    for code in codes:
        revision = standing_on(weights[code], on)
        if revision is not None:
            spoken = [c.record for n in numbers.get(code, ()) if (c := certificates[n]) is not None]
            pieces[code] = _piece(revision.record, spoken, on)
    return pieces


def _piece(weight: Weight, certificates: Sequence[WeightCertificate], on: date) -> Piece:
    """A piece has one certificate in force at a time: of several, the one that began last."""
    density = density_of(weight.density_kg_m3, weight.density_uncertainty_kg_m3)
    in_force = [c for c in certificates if c.valid_from <= on <= c.valid_to]
    newest = max(in_force, key=lambda c: (c.valid_from, c.issued_on), default=None)
    if newest is not None:
        mass = _mass_of(weight.code, newest)
        return Piece(weight.code, weight.nominal, weight.weight_class, mass, density=density)
    ended = max((c for c in certificates if c.valid_to < on), key=lambda c: c.valid_to, default=None)
    lapsed = (ended.number, ended.valid_to) if ended else None
    return Piece(weight.code, weight.nominal, weight.weight_class, None, lapsed, density)


def certified_by(connection: Connection, certificate: WeightCertificate, on: date) -> tuple[Piece, ...]:
    """Return the pieces that a certificate speaks for as they were registered on a day, each with what it says of it."""
    codes = [entry.piece for entry in certificate.pieces]
    weights = {code: standing_on(chain, on) for code, chain in chains_of(connection, "weight", codes).items()}
    return tuple(
        Piece(code, weight.record.nominal, weight.record.weight_class, _mass_of(code, certificate))
        for code, weight in weights.items()
        if weight is not None
    )


def _mass_of(code: str, certificate: WeightCertificate) -> CertifiedMass | None:
    for entry in certificate.pieces:
        if entry.piece == code:
            return CertifiedMass(
                certificate.number, entry.as_left.kg, entry.expanded_uncertainty.kg, entry.k,
                certificate.valid_from, certificate.valid_to,
            )  # fmt: skip
    return None


def weight_revisions(connection: Connection, codes: Sequence[str], on: date) -> tuple[Revision[Any], ...]:
    """Return the revisions of pieces, and of the certificates in force for them, on a day."""
    asked = ("weight revisions", tuple(codes), on)
    return derived(connection, asked, lambda: _weight_revisions(connection, codes, on))


def _weight_revisions(connection: Connection, codes: Sequence[str], on: date) -> tuple[Revision[Any], ...]:
    pieces = pieces_on(connection, codes, on)
    numbers = dict.fromkeys(p.certificate.number for p in pieces.values() if p.certificate is not None)
    weights, certificates = chains_of(connection, "weight", codes), chains_of(connection, "weight certificate", numbers)
    found = [standing_on(chain, on) for chain in (*weights.values(), *certificates.values())]
    return tuple(revision for revision in found if revision is not None)
