"""Pieces, and the reference load they make together: conventional mass from the certificates in force that day.

Uncertainties of several pieces are added arithmetically: they were calibrated against the same standards and are
taken as fully correlated (EURAMET cg-18 v4.0 7.1.2.2, from memory). Buoyancy is bounded here (7.1.2.4); where the air was
measured, `weights_in_air` works it out from the volume of the pieces.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from api.metrology.buoyancy import RHO_C
from api.metrology.densities import Density
from api.metrology.mass import Mass
from api.metrology.policy import Policy
from api.metrology.refusals import NoReferenceValue, NoTableValue
from api.metrology.weight_classes import ClassLimit, class_limit

# Conventional mass is stated for pieces of 8000 kg/m3 in air of 1.2 kg/m3 (OIML D 28:2004, from memory).
AIR_DENSITY, REFERENCE_DENSITY = Decimal("1.2"), Decimal(8000)
# The air is taken to lie within ten per cent of that density (cg-18 7.1.2.4, not adjusted just before).
_OF_AIR = 0.1 * float(AIR_DENSITY) / float(REFERENCE_DENSITY)


@dataclass(frozen=True, slots=True)
class CertifiedMass:
    """What a weight certificate says of one piece, for the days it governs: [valid_from, valid_to]."""

    number: str
    conventional_kg: Decimal
    expanded_kg: Decimal
    k: Decimal
    valid_from: date
    valid_to: date


@dataclass(frozen=True, slots=True)
class Piece:
    """One weight: its code, nominal value, class, and the certificate in force on the day of the visit, if any.

    Where none is in force, `lapsed` is the number of the last one that was, and its last day.
    """

    code: str
    nominal: Mass
    weight_class: str
    certificate: CertifiedMass | None
    lapsed: tuple[str, date] | None = None
    density: Density | None = None


@dataclass(frozen=True, slots=True)
class Volume:
    """By how much pieces are larger than of 8000 kg/m3, and its standard uncertainty, in m3: what buoyancy acts on."""

    beyond_m3: float
    u_m3: float

    def __add__(self, other: "Volume") -> "Volume":
        """Return both together; uncertainties add as numbers, for pieces of one material err alike."""
        return Volume(self.beyond_m3 + other.beyond_m3, self.u_m3 + other.u_m3)


@dataclass(frozen=True, slots=True)
class ReferenceLoad:
    """Pieces placed together: nominal and reference value in kg (exact), standard uncertainties in kg, error bound.

    The error bound is the sum of what each piece may be off: the U of its certificate, or its class limit where marked
    values are the reference. `limit_kg` is the sum of the class limits, which bounds the density and so the buoyancy.
    `substitutions` counts the substitute loads under the pieces, `unbalanced_kg` by how much those did not balance.
    `volume` is None where the density of a piece is not known. On a balance `buoyancy_kg` is part of the reference, and
    `convection_kg` the most that pieces warmer or colder than the air may be off.
    """

    pieces: tuple[str, ...]
    nominal_kg: Decimal
    reference_kg: Decimal
    u_weights: float
    u_drift: float
    u_buoyancy: float
    u_buoyancy_adjusted: float
    error_bound_kg: Decimal
    basis: str
    limit_kg: Decimal = Decimal(0)
    drift_factor: Decimal = Decimal(0)
    by_certificate: bool = True
    substitutions: int = 0
    unbalanced_kg: Decimal = Decimal(0)
    volume: Volume | None = None
    buoyancy_kg: Decimal = Decimal(0)
    convection_kg: float = 0.0

    @property
    def is_loaded(self) -> bool:
        """Whether anything stands on the scale: pieces, or a substitute load."""
        return bool(self.pieces) or self.substitutions > 0

    @property
    def key(self) -> object:
        """What tells a load from others: its pieces, or all of it where it was built by substitution."""
        return self if self.substitutions else self.pieces

    @property
    def bound_symbol(self) -> str:
        """The symbol of what the error bound sums: the expanded uncertainty U, or the class limit mpe."""
        return "U" if self.by_certificate else "mpe"


@dataclass(frozen=True, slots=True)
class PieceShare:
    """What one piece brings to any load it is part of: nominal and reference value, u, drift, error bound, limit, volume.

    `limit_source` says where the limit is from: the table of its class, or the certificate that stands in.
    """

    nominal_kg: Decimal
    reference_kg: Decimal
    u: float
    drift: float
    bound_kg: Decimal
    limit_kg: Decimal
    limit_source: str
    volume: Volume | None = None


def nominal_sum(codes: Sequence[str], pieces: Mapping[str, Piece]) -> Decimal:
    """Return the nominal load of pieces in kilograms; an unknown piece, or one named twice, is a `NoReferenceValue`."""
    _refuse_unknown(codes, pieces)
    _refuse_twice(codes)
    return sum([pieces[code].nominal.kg for code in codes], Decimal(0))


def _refuse_unknown(codes: Sequence[str], pieces: Mapping[str, Piece]) -> None:
    missing = ", ".join(dict.fromkeys([code for code in codes if code not in pieces]))
    if missing:
        raise NoReferenceValue(f"Not on the register that day: {missing}.", pieces=missing)


def _refuse_twice(codes: Sequence[str]) -> None:
    if len(set(codes)) < len(codes):
        twice = ", ".join(dict.fromkeys(code for code in codes if codes.count(code) > 1))
        raise NoReferenceValue(f"Named twice in one load: {twice}. One piece cannot stand there twice.", pieces=twice)


def reference_load(
    codes: Sequence[str], pieces: Mapping[str, Piece], policy: Policy, shares: dict[str, PieceShare] | None = None
) -> ReferenceLoad:
    """Return the reference load that pieces make together, in kilograms. `shares` keeps what was worked out before.

    Refuses unknown pieces and a piece named twice, under the certificate policy also pieces without a certificate in force
    (`NoReferenceValue`); under the nominal policy pieces whose class has no row (`NoTableValue`).
    """
    shares = {} if shares is None else shares
    _refuse_twice(codes)
    if new := [code for code in codes if code not in shares]:
        shares.update(_shares_of(new, pieces, policy))
    nominal = reference = bound = limits = Decimal(0)
    u = drift = 0.0
    for share in [shares[code] for code in codes]:
        nominal += share.nominal_kg
        reference += share.reference_kg
        bound += share.bound_kg
        u += share.u
        drift += share.drift
        limits += share.limit_kg
    limit = float(limits)
    buoyancy, adjusted = (_OF_AIR * float(nominal) + limit / 4) / math.sqrt(3), limit / 4 / math.sqrt(3)
    by_certificate = policy.reference == "certificate"
    basis = "certificates in force that day" if by_certificate else "nominal values, within class limits"
    return ReferenceLoad(
        tuple(codes), nominal, reference, u, drift, buoyancy, adjusted, bound, basis,
        limits, policy.drift_factor, by_certificate, volume=_volume_together([shares[code].volume for code in codes]),
    )  # fmt: skip


def _volume_together(volumes: Sequence[Volume | None]) -> Volume | None:
    """As stated and used, to four digits, so that what follows from it can be worked out again from what is printed."""
    beyond = u = 0.0
    for volume in volumes:
        if volume is None:
            return None
        beyond += volume.beyond_m3
        u += volume.u_m3
    return Volume(float(f"{beyond:.4g}"), float(f"{u:.4g}"))


def _volume(piece: Piece) -> Volume | None:
    if piece.density is None:
        return None
    mass, density = float(piece.nominal.kg), float(piece.density.kg_m3)
    u = float(piece.density.expanded_kg_m3) / 2
    return Volume(mass * (1 / density - 1 / RHO_C), mass * u / density**2)


def _shares_of(codes: Sequence[str], pieces: Mapping[str, Piece], policy: Policy) -> dict[str, PieceShare]:
    _refuse_unknown(codes, pieces)
    placed = [pieces[code] for code in codes]
    if policy.reference == "nominal":
        return {piece.code: _by_class(piece, policy) for piece in placed}
    without = [piece for piece in placed if piece.certificate is None]
    if without:
        raise NoReferenceValue(
            f"No certificate in force that day for {', '.join(_uncertified(piece) for piece in without)}.",
            pieces=", ".join(piece.code for piece in without),
        )
    return {piece.code: _by_certificate(piece, policy) for piece in placed}


def _uncertified(piece: Piece) -> str:
    """The piece, and where one has lapsed, which certificate ended when: it may only have to be sent in."""
    return f"{piece.code} ({piece.lapsed[0]} ended on {piece.lapsed[1]})" if piece.lapsed else piece.code


def _by_certificate(piece: Piece, policy: Policy) -> PieceShare:
    certificate = piece.certificate
    assert certificate is not None  # refused before
    u = float(certificate.expanded_kg) / float(certificate.k)
    drift = float(policy.drift_factor) * float(certificate.expanded_kg) / math.sqrt(3)
    limit, source = _limit_or_stand_in(piece, certificate)
    return PieceShare(
        piece.nominal.kg, certificate.conventional_kg, u, drift, certificate.expanded_kg, limit, source, _volume(piece)
    )


def _by_class(piece: Piece, policy: Policy) -> PieceShare:
    limit = class_limit(piece.weight_class, piece.nominal)
    u = float(limit.kg) / math.sqrt(3)
    drift = float(policy.drift_factor) * u
    words, volume = _in_words(limit), _volume(piece)
    return PieceShare(piece.nominal.kg, piece.nominal.kg, u, drift, limit.kg, limit.kg, words, volume)


def _limit_or_stand_in(piece: Piece, certificate: CertifiedMass) -> tuple[Decimal, str]:
    """The class limit bounds the density, and so the buoyancy; where the class has no row, the certificate stands in."""
    try:
        limit = class_limit(piece.weight_class, piece.nominal)
    except NoTableValue:
        stands_in = max(certificate.expanded_kg, abs(certificate.conventional_kg - piece.nominal.kg))
        return stands_in, "no limit for this class and value: the larger of U and the certificate's deviation stands in"
    return limit.kg, _in_words(limit)


def _in_words(limit: ClassLimit) -> str:
    return f"{limit.source}, {limit.confidence}"
