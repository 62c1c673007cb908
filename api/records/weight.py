"""Weights by piece, the sets they belong to and since when, and the certificates that give their mass."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Annotated

from api.metrology.mass import Mass
from api.metrology.terms import Between, Code, Line, Many, Name, PieceState


@dataclass(frozen=True, slots=True)
class Weight:
    """One piece: its engraved or own code, nominal value, class, and who keeps it.

    The uncertainty of its density is expanded, k = 2; without one a density of OIML R 111-1 Table B.7 has that table's.
    """

    code: Code
    site: Code
    nominal: Mass
    weight_class: Name
    state: PieceState
    custodian: Name
    material: Name | None = None
    density_kg_m3: Annotated[Decimal, Between(Decimal(1000), Decimal(23000))] | None = None
    has_cavity: bool | None = None
    density_uncertainty_kg_m3: Annotated[Decimal, Between(Decimal("0.1"), Decimal(2000))] | None = None


@dataclass(frozen=True, slots=True)
class Membership:
    """One piece in a set, from a day and, when it left, to a day (inclusive)."""

    piece: Code
    since: date
    to: date | None = None


@dataclass(frozen=True, slots=True)
class WeightSet:
    """A set of weights that travels together, with every piece's days in it."""

    code: Code
    site: Code
    custodian: Name
    members: Annotated[tuple[Membership, ...], Many(200)]


@dataclass(frozen=True, slots=True)
class CertifiedPiece:
    """What the certificate says of one piece: conventional mass as found and as left, U, k, whether it was adjusted."""

    piece: Code
    as_left: Mass
    expanded_uncertainty: Mass
    k: Annotated[Decimal, Between(Decimal(1), Decimal(4))]
    as_found: Mass | None = None
    adjusted: bool = False


@dataclass(frozen=True, slots=True)
class WeightCertificate:
    """A weight certificate from a laboratory, valid for the owner's days, one entry a piece."""

    number: Code
    laboratory: Name
    calibrated_on: date
    issued_on: date
    valid_from: date
    valid_to: date
    pieces: Annotated[tuple[CertifiedPiece, ...], Many(200, 1)]
    accreditation: Name | None = None
    supersedes: Code | None = None
    statement: Line | None = None
