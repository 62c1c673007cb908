"""A piece compared with its like before a round: the same nominal mass on one balance, one after the other.

The difference that was seen is held against the difference that the certificates give. It may be off by what the certificate
or class of the piece allows, plus the uncertainty of the comparison; that sum is common practice, no source. A comparison
that is coarser than what it is to show says that it cannot tell, unless the piece is beyond that too.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from statistics import stdev
from typing import Final, Literal

from api.metrology.budget import Budget, Contribution
from api.metrology.buoyancy import RHO_0
from api.metrology.mass import EXACT, Mass
from api.metrology.policy import Policy
from api.metrology.refusals import NoReferenceValue, NotAlike, TooFewReadings
from api.metrology.repeatability import Spread
from api.metrology.rounding import ROUNDING, on_the_wire
from api.metrology.uncertainty import budget_of
from api.metrology.weight_classes import class_limit
from api.metrology.weights import Piece, PieceShare, ReferenceLoad, reference_load

ComparisonVerdict = Literal["agrees", "differs", "cannot tell"]
PRACTICE: Final = "common practice, no source"
_SQRT3 = math.sqrt(3)


@dataclass(frozen=True, slots=True)
class PairWeighed:
    """The standard and the piece weighed one after the other, each as the balance showed it."""

    standard: Mass
    piece: Mass


@dataclass(frozen=True, slots=True)
class Part:
    """One part of the uncertainty of a comparison: its standard uncertainty in kilograms, and where it comes from."""

    name: str
    u_kg: float
    source: str


@dataclass(frozen=True, slots=True)
class Comparison:
    """What a comparison came to, in kilograms: the difference seen (the mean of the pairs, piece minus standard) and the one
    that the certificates give, how far they are apart, and the most they may be: what is allowed plus U."""

    verdict: ComparisonVerdict
    seen_kg: Decimal
    expected_kg: Decimal
    apart_kg: Decimal
    allowed_kg: Decimal
    allowed_by: str
    expanded_kg: Decimal
    k: float
    limit_kg: Decimal
    pairs: int
    parts: tuple[Part, ...]
    sentence: str


def comparison_of(
    piece: str,
    against: Sequence[str],
    weighed: Sequence[PairWeighed],
    division: Mass,
    pieces: Mapping[str, Piece],
    policy: Policy,
    spread: Spread | None = None,
) -> Comparison:
    """Return whether a piece still agrees with its certificate, else with its class, by a standard of the same nominal mass.

    Refuses pieces that are not known and standards without a certificate in force (`NoReferenceValue`), a piece whose
    class has no limit where no certificate is in force (`NoTableValue`), a standard of another nominal mass (`NotAlike`),
    and a single pair where the repeatability of the balance is not known (`TooFewReadings`).
    """
    if piece not in pieces:
        raise NoReferenceValue(f"Not on the register that day: {piece}.", pieces=piece)
    compared, standard = pieces[piece], _standard(piece, against, pieces, policy)
    if compared.nominal.kg != standard.nominal_kg:
        raise NotAlike(
            f"{piece} is marked {compared.nominal.shown}, the standard {standard.nominal_kg:f} kg: compare like with like.",
            piece=piece, standard=", ".join(against),
        )  # fmt: skip
    differences = [EXACT.subtract(pair.piece.kg, pair.standard.kg) for pair in weighed]
    value, allowed, allowed_by, limit = _allowed(compared, policy)
    budget = budget_of([*_of_the_standard(standard, compared, limit), *_of_the_balance(differences, division, spread)])
    return _decided(differences, value - standard.reference_kg, allowed, allowed_by, budget)


def _standard(piece: str, against: Sequence[str], pieces: Mapping[str, Piece], policy: Policy) -> ReferenceLoad:
    if piece in against:
        raise NotAlike(f"{piece} cannot be its own standard.", piece=piece)
    return reference_load(against, {code: _only_certified(p) for code, p in pieces.items() if code in against}, policy)


def _only_certified(piece: Piece) -> Piece:
    """A standard speaks by its certificate, whatever the policy takes loads by."""
    if piece.certificate is None:
        raise NoReferenceValue(
            f"No certificate in force that day for {piece.code}: it is no standard.", pieces=piece.code
        )
    return piece


def _allowed(piece: Piece, policy: Policy) -> tuple[Decimal, Decimal, str, Decimal]:
    """What the piece should be, how far off it may be and by what, and its class limit, which bounds the buoyancy.

    By its certificate: U and the drift that every budget grants it since, k_D U (EURAMET cg-18 v4.0 7.1.2.3, from memory).
    Without one, the limit of its class about the marked value (OIML R 111-1:2004 5.1, from memory).
    """
    share: PieceShare | None = piece.certified
    if piece.certificate is not None and share is not None and policy.reference == "certificate":
        allowed = EXACT.multiply(share.bound_kg, 1 + policy.drift_factor)
        by = f"U of {piece.certificate.number} and a drift of {policy.drift_factor:f} U since"
        return share.reference_kg, allowed, by, share.limit_kg
    limit = class_limit(piece.weight_class, piece.nominal)
    return piece.nominal.kg, limit.kg, f"class {piece.weight_class}: {limit.source}", limit.kg


def _of_the_standard(standard: ReferenceLoad, piece: Piece, limit_kg: Decimal) -> list[Contribution]:
    drift = "k_D U / sqrt 3: EURAMET cg-18 v4.0 7.1.2.3, from memory"
    return [
        Contribution("standard", standard.u_weights, "normal", "U / k of its certificate"),
        Contribution("drift of the standard", standard.u_drift, "rectangular", drift),
        _buoyancy(standard, piece, limit_kg),
    ]


def _buoyancy(standard: ReferenceLoad, piece: Piece, limit_kg: Decimal) -> Contribution:
    """Air within ten per cent of 1.2 kg/m3 acts on how much larger one is than the other, as far as that is known; where a
    density is not, what the classes of both leave open of it."""
    if piece.volume is None or standard.volume is None:
        bound = float(EXACT.add(standard.limit_kg, limit_kg)) / 4 / _SQRT3
        return Contribution("buoyancy", bound, "rectangular", "mpe / (4 sqrt 3) of both: cg-18 7.1.2.4, from memory")
    apart = float(piece.volume.beyond_m3 - standard.volume.beyond_m3)
    u = 0.1 * RHO_0 / _SQRT3 * math.hypot(apart, float(piece.volume.u_m3), float(standard.volume.u_m3))
    source = "u(air) x (V of one less V of the other, and u of both): OIML R 111-1:2004 C.6.3.1, from memory"
    return Contribution("buoyancy", u, "rectangular", source)


def _of_the_balance(differences: Sequence[Decimal], division: Mass, spread: Spread | None) -> list[Contribution]:
    """Two readings to a difference, each rounded: (d / 2) / sqrt 3 times sqrt 2 (OIML R 111-1:2004 C.6.4.2, from memory).

    Rounding is not divided by the number of pairs: like readings are rounded alike.
    """
    rounded = float(division.kg) / 2 / _SQRT3 * math.sqrt(2)
    source = "(d / 2) / sqrt 3 x sqrt 2: OIML R 111-1:2004 C.6.4.2, from memory"
    return [Contribution("rounding", rounded, "rectangular", source), _repeats(differences, spread)]


def _repeats(differences: Sequence[Decimal], spread: Spread | None) -> Contribution:
    count = len(differences)
    if spread is not None:
        u = spread.s_kg * math.sqrt(2 / count)
        return Contribution("repeatability", u, "t", f"s sqrt(2 / n); {spread.source}", spread.degrees_of_freedom)
    if count < 2:
        raise TooFewReadings(
            f"{count} pair; without the repeatability of the balance it takes two at least, better four.",
            found=str(count),
        )
    u = stdev(float(difference) for difference in differences) / math.sqrt(count)
    return Contribution("repeatability", u, "t", "standard deviation of the pairs / sqrt n", count - 1)


def _decided(
    differences: Sequence[Decimal], expected: Decimal, allowed: Decimal, allowed_by: str, budget: Budget
) -> Comparison:
    """Decided on the exact sum of the pairs against n times the printed limit: a mean of three has no last digit."""
    count = Decimal(len(differences))
    total = sum(differences, Decimal(0))
    apart, limit = EXACT.subtract(total, EXACT.multiply(count, expected)), EXACT.add(allowed, budget.printed)
    verdict: ComparisonVerdict = "cannot tell" if budget.printed > allowed else "agrees"
    if abs(apart) > EXACT.multiply(count, limit):
        verdict = "differs"
    mean = on_the_wire(ROUNDING.divide(apart, count))
    return Comparison(
        verdict, on_the_wire(ROUNDING.divide(total, count)), expected, mean, allowed, allowed_by, budget.printed,
        budget.k, limit, len(differences),
        tuple(Part(c.name, c.standard_uncertainty, c.source) for c in budget.contributions),
        _sentence(verdict, mean, limit, allowed, budget.printed),
    )  # fmt: skip


def _sentence(verdict: ComparisonVerdict, apart: Decimal, limit: Decimal, allowed: Decimal, expanded: Decimal) -> str:
    off = f"{abs(apart):f} kg off what the certificates give; allowed {allowed:f} kg plus U {expanded:f} kg"
    if verdict == "cannot tell":
        return (
            f"It is {off}: the comparison is coarser than what it is to show. A finer balance or standard would tell."
        )
    return f"It is {off}: {'within' if verdict == 'agrees' else 'beyond'} {limit:f} kg."
