"""The weights at hand, ordered for choosing loads out of them: by nominal mass, within one nominal mass the finest first.

Why nominal masses are enough to search over: wherever a piece is used, another free piece of the same nominal mass with
a smaller error bound could stand there; load, number of pieces and kilograms stay the same, and the sum of the error
bounds does not grow. So some best choice takes of every nominal mass the finest pieces, and a choice is one count for
each nominal mass. Identical pieces are copies of each other under the same argument.

Masses and error bounds are whole numbers of an exact unit here; nothing is rounded.
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from api.metrology.mass import EXACT
from api.metrology.policy import Policy
from api.metrology.refusals import Refusal
from api.metrology.weights import Piece, PieceShare, reference_load

Counts = tuple[int, ...]
WhyLeftOut = Literal["over the lifting limit", "no certificate in force that day", "class without a limit"]


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A piece that may not be used, and why."""

    piece: str
    why: WhyLeftOut


@dataclass(frozen=True, slots=True)
class Stock:
    """The pieces that may be used. `masses` are the nominal masses in whole units, the heaviest first; for each of them
    the pieces' codes, and the sum of the error bounds of its first 0, 1, 2, ... pieces in whole bound units."""

    masses: tuple[int, ...]
    codes: tuple[tuple[str, ...], ...]
    bounds: tuple[tuple[int, ...], ...]
    unit_kg: Decimal
    bound_unit_kg: Decimal
    left_out: tuple[LeftOut, ...] = ()

    @property
    def counts(self) -> Counts:
        """How many pieces of each nominal mass there are."""
        return tuple(len(codes) for codes in self.codes)

    @property
    def total(self) -> int:
        """What all pieces weigh together, in whole units."""
        return self.mass_of(self.counts)

    def mass_of(self, counts: Sequence[int]) -> int:
        """Return the nominal mass of a choice, in whole units."""
        return sum(n * m for n, m in zip(counts, self.masses, strict=True))

    def bound_of(self, counts: Sequence[int]) -> int:
        """Return the error bound of a choice, in whole bound units."""
        return sum(sums[n] for n, sums in zip(counts, self.bounds, strict=True))

    def pieces_of(self, counts: Sequence[int]) -> tuple[str, ...]:
        """Return the codes of a choice, the heaviest pieces first."""
        return tuple(code for n, codes in zip(counts, self.codes, strict=True) for code in codes[:n])

    def part(self, counts: Sequence[int], firsts: Sequence[int] | None = None) -> "Stock":
        """Return the stock of a choice alone: of each nominal mass so many pieces, from the place in the order of fineness
        that `firsts` names, else the finest; masses without any are left out."""
        held = [(at, firsts[at] if firsts else 0, n) for at, n in enumerate(counts) if n]
        sums = [self.bounds[at][first : first + n + 1] for at, first, n in held]
        return Stock(
            tuple(self.masses[at] for at, _, _ in held),
            tuple(self.codes[at][first : first + n] for at, first, n in held),
            tuple(tuple(each - group[0] for each in group) for group in sums),
            self.unit_kg, self.bound_unit_kg, self.left_out,
        )  # fmt: skip

    def without(self, pieces: Iterable[str]) -> "Stock":
        """Return the stock that is left when a choice, the finest of each nominal mass as choices are, stands elsewhere."""
        away = set(pieces)
        used = [sum(code in away for code in codes) for codes in self.codes]
        return self.part([len(codes) - n for codes, n in zip(self.codes, used, strict=True)], used)

    def kilograms(self, units: int) -> Decimal:
        """Return a nominal mass in kilograms, exact, without trailing zeros after the point."""
        return plain(EXACT.multiply(Decimal(units), self.unit_kg))

    def bound_kg(self, units: int) -> Decimal:
        """Return an error bound in kilograms, exact."""
        return plain(EXACT.multiply(Decimal(units), self.bound_unit_kg))


def plain(value: Decimal) -> Decimal:
    """Return a number without trailing zeros after its point, and never with an exponent.

    >>> plain(Decimal("200.000")), plain(Decimal("2E+2")), plain(Decimal("2.50"))
    (Decimal('200'), Decimal('200'), Decimal('2.5'))
    """
    written = f"{value:f}"
    return Decimal(written.rstrip("0").rstrip(".")) if "." in written else Decimal(written)


def stock_of(
    pieces: Iterable[Piece], policy: Policy, heaviest_kg: Decimal | None = None, *, certified: bool = False
) -> Stock:
    """Return the stock that pieces make under a policy; those that may not be used are left out, each with the reason.

    Left out are pieces above `heaviest_kg`, pieces without a certificate in force where the policy works by certificate
    (under any policy with `certified`), and, under the nominal policy, pieces whose class has no limit.
    """
    shares: dict[str, PieceShare] = {}
    left_out = []
    for piece in sorted(pieces, key=lambda p: p.code):
        why = _why_not(piece, policy, heaviest_kg, certified, shares)
        if why is not None:
            left_out.append(LeftOut(piece.code, why))
    return _ordered(shares, tuple(left_out))


def _why_not(
    piece: Piece, policy: Policy, heaviest_kg: Decimal | None, certified: bool, shares: dict[str, PieceShare]
) -> WhyLeftOut | None:
    if heaviest_kg is not None and piece.nominal.kg > heaviest_kg:
        return "over the lifting limit"
    if piece.certificate is None and (certified or policy.reference == "certificate"):
        return "no certificate in force that day"
    try:
        reference_load((piece.code,), {piece.code: piece}, policy, shares)
    except Refusal:
        return "class without a limit"
    return None


def _ordered(shares: Mapping[str, PieceShare], left_out: tuple[LeftOut, ...]) -> Stock:
    unit, bound_unit = unit_of(s.nominal_kg for s in shares.values()), unit_of(s.bound_kg for s in shares.values())
    groups: dict[int, list[tuple[int, str]]] = {}
    for code, share in shares.items():
        entry = (whole(share.bound_kg, bound_unit), code)
        groups.setdefault(whole(share.nominal_kg, unit), []).append(entry)
    masses = tuple(sorted(groups, reverse=True))
    finest_first = [sorted(groups[mass]) for mass in masses]
    codes = tuple(tuple(code for _, code in group) for group in finest_first)
    bounds = tuple(_running(tuple(bound for bound, _ in group)) for group in finest_first)
    return Stock(masses, codes, bounds, unit, bound_unit, left_out)


def _running(values: Sequence[int]) -> tuple[int, ...]:
    sums = [0]
    for value in values:
        sums.append(sums[-1] + value)
    return tuple(sums)


def unit_of(values: Iterable[Decimal]) -> Decimal:
    """Return the largest mass of which every one of several masses is a whole multiple, exact; 1 where there is none.

    >>> unit_of([Decimal("20"), Decimal("0.50"), Decimal("1.5")])
    Decimal('0.5')
    """
    held = [v for v in values if v]
    least = min((int(v.as_tuple().exponent) for v in held), default=0)
    step = math.gcd(*(int(EXACT.scaleb(v, -least)) for v in held)) if held else 0
    return plain(EXACT.scaleb(Decimal(step), least)) if step else Decimal(1)


def whole(value: Decimal, unit: Decimal) -> int:
    """Return how many whole units a mass holds, rounded down; exact for a multiple of the unit."""
    return int(EXACT.divide_int(value, unit))
