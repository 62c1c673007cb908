"""Pieces, and the reference load they make together: conventional mass from the certificates in force that day.

Uncertainties of several pieces are added arithmetically: they were calibrated against the same standards and are
taken as fully correlated (EURAMET cg-18 v4.0 7.1.2.2, from memory). Buoyancy is bounded here (7.1.2.4); where the air was
measured, `weights_in_air` works it out from the volume of the pieces.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import NamedTuple

from api.metrology.buoyancy import RHO_0, RHO_C
from api.metrology.densities import Density
from api.metrology.mass import Mass
from api.metrology.policy import Policy
from api.metrology.refusals import NoReferenceValue, NoTableValue
from api.metrology.rounding import printed_uncertainty
from api.metrology.weight_classes import ClassLimit, class_limit

# The air is taken to lie within ten per cent of 1.2 kg/m3 (cg-18 7.1.2.4, not adjusted just before).
SHARE_OF_AIR = 0.1 * RHO_0 / RHO_C


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
class Volume:
    """By how much pieces are larger than of 8000 kg/m3, and its standard uncertainty, in m3: what buoyancy acts on."""

    beyond_m3: Decimal
    u_m3: Decimal


def volume_of(mass_kg: Decimal, density: Density) -> Volume:
    """Return V = m (1/rho - 1/rho_c) and u(V) = m u(rho) / rho^2 of a piece, as stated and used: to four digits."""
    mass, rho, u = float(mass_kg), float(density.kg_m3), float(density.expanded_kg_m3) / 2
    beyond, u_beyond = mass * (1 / rho - 1 / RHO_C), mass * u / rho**2
    return Volume(printed_uncertainty(beyond, 4), printed_uncertainty(u_beyond, 4))


class PieceShare(NamedTuple):
    """What one piece brings to any load it is part of: nominal and reference value, u, drift, error bound, limit, volume.

    `drift` is for a factor k_D of 1: the policy has its own. `limit_source` says where the limit is from: the table of its
    class, or the certificate that stands in.
    """

    nominal_kg: Decimal
    reference_kg: Decimal
    u: float
    drift: float
    bound_kg: Decimal
    limit_kg: Decimal
    limit_source: str
    volume: Volume | None = None


@dataclass(frozen=True, slots=True)
class Piece:
    """One weight: its code, nominal value, class, and the certificate in force on the day of the visit, if any.

    Where none is in force, `lapsed` is the number of the last one that was, and its last day. What the piece brings to a
    load by its certificate is worked out once.
    """

    code: str
    nominal: Mass
    weight_class: str
    certificate: CertifiedMass | None
    lapsed: tuple[str, date] | None = None
    density: Density | None = None
    volume: Volume | None = field(init=False, repr=False, compare=False)
    certified: PieceShare | None = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        volume = None if self.density is None else volume_of(self.nominal.kg, self.density)
        object.__setattr__(self, "volume", volume)
        certified = None if self.certificate is None else _by_certificate(self, self.certificate)
        object.__setattr__(self, "certified", certified)


class ReferenceLoad(NamedTuple):
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
    nominal = reference = bound = limits = beyond = u_beyond = Decimal(0)
    u = drift = 0.0
    every_density = True
    for marked, certified, u_of_one, drift_of_one, most, limit_of_one, _, volume in [shares[code] for code in codes]:
        nominal += marked
        reference += certified
        bound += most
        u += u_of_one
        drift += drift_of_one
        limits += limit_of_one
        if volume is None:
            every_density = False
        else:
            beyond += volume.beyond_m3
            u_beyond += volume.u_m3
    limit = float(limits)
    buoyancy, adjusted = (SHARE_OF_AIR * float(nominal) + limit / 4) / math.sqrt(3), limit / 4 / math.sqrt(3)
    by_certificate = policy.reference == "certificate"
    basis = "certificates in force that day" if by_certificate else "nominal values, within class limits"
    return ReferenceLoad(
        tuple(codes), nominal, reference, u, float(policy.drift_factor) * drift, buoyancy, adjusted, bound, basis,
        limits, policy.drift_factor, by_certificate, volume=Volume(beyond, u_beyond) if every_density else None,
    )  # fmt: skip


def _shares_of(codes: Sequence[str], pieces: Mapping[str, Piece], policy: Policy) -> dict[str, PieceShare]:
    _refuse_unknown(codes, pieces)
    placed = [pieces[code] for code in codes]
    if policy.reference == "nominal":
        return {piece.code: _by_class(piece) for piece in placed}
    shares = {piece.code: piece.certified for piece in placed if piece.certified is not None}
    if len(shares) < len(placed):
        without = [piece for piece in placed if piece.certified is None]
        raise NoReferenceValue(
            f"No certificate in force that day for {', '.join(_uncertified(piece) for piece in without)}.",
            pieces=", ".join(piece.code for piece in without),
        )
    return shares


def _uncertified(piece: Piece) -> str:
    """The piece, and where one has lapsed, which certificate ended when: it may only have to be sent in."""
    return f"{piece.code} ({piece.lapsed[0]} ended on {piece.lapsed[1]})" if piece.lapsed else piece.code


def _by_certificate(piece: Piece, certificate: CertifiedMass) -> PieceShare:
    u, drift = float(certificate.expanded_kg) / float(certificate.k), float(certificate.expanded_kg) / math.sqrt(3)
    limit, source = _limit_or_stand_in(piece, certificate)
    return PieceShare(
        piece.nominal.kg, certificate.conventional_kg, u, drift, certificate.expanded_kg, limit, source, piece.volume
    )


def _by_class(piece: Piece) -> PieceShare:
    limit = class_limit(piece.weight_class, piece.nominal)
    u = float(limit.kg) / math.sqrt(3)
    return PieceShare(piece.nominal.kg, piece.nominal.kg, u, u, limit.kg, limit.kg, _in_words(limit), piece.volume)


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
