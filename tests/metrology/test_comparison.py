"""A piece compared with its like. Expected numbers are worked out here from the formulas of OIML R 111-1:2004 annex C and
EURAMET cg-18 v4.0, from memory; that what is allowed and U are added is common practice, no source."""

import math
from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.metrology.comparison import Comparison, PairWeighed, comparison_of
from api.metrology.densities import Density
from api.metrology.mass import Mass, mass
from api.metrology.policy import STARTING
from api.metrology.refusals import NoReferenceValue, NoTableValue, NotAlike, Refusal, TooFewReadings
from api.metrology.repeatability import Spread
from api.metrology.weights import CertifiedMass, Piece

FIRST, LAST = date(2026, 1, 1), date(2026, 12, 31)
DIVISION = mass("0.1", "g")
KNOWN = Spread(0.0001, 19, "20 weighings")


def a_piece(code: str, nominal: str, value: str, expanded: str, weight_class: str = "M1") -> Piece:
    certificate = CertifiedMass(f"LM-{code}", Decimal(value), Decimal(expanded), Decimal(2), FIRST, LAST)
    return Piece(code, mass(nominal, "kg"), weight_class, certificate)


PIECES = {
    piece.code: piece
    for piece in (
        a_piece("P", "20", "20.0002", "0.0003"),
        a_piece("S", "20", "20.00010", "0.0001", "F2"),
        a_piece("H1", "10", "10", "0.0001"),
        a_piece("H2", "10", "10", "0.0001"),
    )
}  # fmt: skip


def pairs(*differences_g: str, standard: str = "20.0000") -> list[PairWeighed]:
    base = Decimal(standard)
    return [PairWeighed(Mass(base, "kg"), Mass(base + Decimal(d) / 1000, "kg")) for d in differences_g]


def compared(*differences_g: str, spread: Spread | None = KNOWN, division: Mass = DIVISION) -> Comparison:
    return comparison_of("P", ("S",), pairs(*differences_g), division, PIECES, STARTING, spread)


def test_the_uncertainty_is_that_of_the_published_formulas() -> None:
    found = compared("0.1", "0.1", "0.1", "0.1")

    standard = 0.0001 / 2
    drift = 0.0001 / math.sqrt(3)  # k_D = 1
    rounding = 0.0001 / 2 / math.sqrt(3) * math.sqrt(2)
    repeats = 0.0001 * math.sqrt(2 / 4)
    buoyancy = (0.001 + 0.0003) / 4 / math.sqrt(3)  # R 111-1 Table 1, 20 kg: M1 1.0 g, F2 0.3 g
    u = math.hypot(standard, drift, rounding, repeats, buoyancy)
    assert {part.name: part.u_kg for part in found.parts} == pytest.approx({
        "standard": standard, "drift of the standard": drift, "buoyancy": buoyancy, "rounding": rounding,
        "repeatability": repeats,
    })  # fmt: skip
    assert float(found.expanded_kg) == pytest.approx(found.k * u, rel=0.05)
    assert 2 < found.k < 2.1  # many effective degrees of freedom: nearly all of u is not from repeated readings


def test_known_densities_leave_less_to_the_air_than_their_classes_do() -> None:
    iron, steel = Density(Decimal(7100), Decimal(600), "R 111"), Density(Decimal(7950), Decimal(140), "R 111")
    pieces = {"P": replace(PIECES["P"], density=iron), "S": replace(PIECES["S"], density=steel)}

    found = comparison_of("P", ("S",), pairs("0.1"), DIVISION, pieces, STARTING, KNOWN)

    apart = 20 * (1 / 7100 - 1 / 7950)  # m3
    of_densities = math.hypot(20 * 300 / 7100**2, 20 * 70 / 7950**2)  # m u(rho) / rho^2, U with k = 2
    expected = 0.12 / math.sqrt(3) * math.hypot(apart, of_densities)
    assert next(p.u_kg for p in found.parts if p.name == "buoyancy") == pytest.approx(expected, rel=1e-3)
    assert expected < (0.001 + 0.0003) / 4 / math.sqrt(3)


def test_what_is_seen_is_held_against_the_difference_of_the_certificates() -> None:
    found = compared("0.1", "0.1", "0.1")

    assert (found.expected_kg, found.seen_kg, found.apart_kg) == (Decimal("0.00010"), Decimal("0.0001"), 0)
    assert (found.verdict, found.allowed_kg) == ("agrees", Decimal("0.0006"))  # U 0.3 g and a drift of as much
    assert found.limit_kg == found.allowed_kg + found.expanded_kg
    assert "U of LM-P" in found.allowed_by


def test_a_difference_on_the_limit_agrees_and_one_step_beyond_differs() -> None:
    limit_g = compared("0.1").limit_kg * 1000
    on, beyond = limit_g + Decimal("0.1"), limit_g + Decimal("0.1") + Decimal("0.00001")

    assert compared(f"{on:f}").verdict == "agrees"
    assert compared(f"{beyond:f}").verdict == "differs"
    assert compared(f"{-limit_g + Decimal('0.1'):f}").verdict == "agrees"
    assert compared(f"{-limit_g + Decimal('0.09999'):f}").verdict == "differs"


def test_the_mean_of_three_pairs_is_decided_without_rounding() -> None:
    limit_g = compared("0", "0", "0").limit_kg * 1000
    third = Decimal("0.00001")

    on = [f"{limit_g + Decimal('0.1') + step:f}" for step in (third, -third, Decimal(0))]
    beyond = [f"{limit_g + Decimal('0.1') + step:f}" for step in (third, -third, Decimal("0.00001"))]

    assert compared(*on).verdict == "agrees"
    assert compared(*beyond).verdict == "differs"


def test_a_coarse_balance_cannot_tell_unless_the_piece_is_far_out() -> None:
    coarse = mass("2", "g")

    assert compared("0", "0", "0", division=coarse).verdict == "cannot tell"
    assert compared("-40", "-40", "-40", division=coarse).verdict == "differs"  # an adjusting plug is tens of grams


def test_without_known_repeatability_the_pairs_speak_for_themselves_with_students_t() -> None:
    found = compared("0.0", "0.2", "0.1", "0.1", spread=None)

    s = math.sqrt(sum((d - 0.1) ** 2 for d in (0.0, 0.2, 0.1, 0.1)) / 3) / 1000
    assert next(p.u_kg for p in found.parts if p.name == "repeatability") == pytest.approx(s / 2)
    assert found.k > 2  # few degrees of freedom


def test_one_pair_needs_a_balance_whose_repeatability_is_known() -> None:
    assert compared("0.1").pairs == 1
    with pytest.raises(TooFewReadings):
        compared("0.1", spread=None)


def test_a_standard_may_be_several_pieces_whose_uncertainties_add() -> None:
    found = comparison_of("P", ("H1", "H2"), pairs("0.2"), DIVISION, PIECES, STARTING, KNOWN)

    assert found.parts[0].u_kg == pytest.approx(2 * 0.0001 / 2)
    assert found.expected_kg == Decimal("0.0002")


def test_a_piece_without_a_certificate_is_held_against_its_class() -> None:
    pieces = PIECES | {"P": replace(PIECES["P"], certificate=None)}

    found = comparison_of("P", ("S",), pairs("0.5"), DIVISION, pieces, STARTING, KNOWN)

    assert found.allowed_kg == Decimal("0.001")  # R 111-1:2004 Table 1, M1 20 kg: 1.0 g
    assert found.expected_kg == Decimal("-0.00010")
    assert "class M1" in found.allowed_by


@pytest.mark.parametrize(("piece", "against", "pieces", "refusal"), [
    ("X", ("S",), PIECES, NoReferenceValue),
    ("P", ("X",), PIECES, NoReferenceValue),
    ("P", ("S",), PIECES | {"S": replace(PIECES["S"], certificate=None)}, NoReferenceValue),
    ("P", ("H1",), PIECES, NotAlike),
    ("P", ("P",), PIECES, NotAlike),
    ("P", ("S",), PIECES | {"P": replace(PIECES["P"], certificate=None, weight_class="shop")}, NoTableValue),
])  # fmt: skip
def test_what_cannot_be_compared_is_refused(
    piece: str, against: tuple[str, ...], pieces: dict[str, Piece], refusal: type[Refusal]
) -> None:
    with pytest.raises(refusal):
        comparison_of(piece, against, pairs("0"), DIVISION, pieces, STARTING, KNOWN)


@given(st.lists(st.integers(-20, 20), min_size=1, max_size=6), st.integers(0, 30))
def test_a_piece_further_off_never_looks_better(grid: list[int], further: int) -> None:
    rank = {"agrees": 0, "cannot tell": 0, "differs": 1}
    near = compared(*[f"{0.1 + abs(n) / 10:.1f}" for n in grid])
    far = compared(*[f"{0.1 + (abs(n) + further) / 10:.1f}" for n in grid])

    assert rank[far.verdict] >= rank[near.verdict]
