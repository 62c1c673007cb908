"""Buoyancy of a visit's loads: measured or bounded, corrected on a balance only; convection on a balance only.

Formulas of EURAMET cg-18 v4.0 (11/2015) 7.1.2.4 and 7.1.2.5, from memory; sums worked by hand beside each.
"""

import math
from dataclasses import replace
from decimal import Decimal

import pytest

from api.metrology.budget import Contribution
from api.metrology.buoyancy import buoyancy_correction
from api.metrology.densities import ASSUMED, Density, density_of
from api.metrology.judging import Case
from api.metrology.scale import Scale
from api.metrology.submission import Air, Environment
from api.metrology.weights import Piece
from tests.metrology.a_case import (
    a_case,
    a_piece,
    a_point,
    a_range,
    a_reading,
    a_scale,
    a_visit,
    all_required,
    an_adjustment,
    judged,
    left_of,
    some_pieces,
    stack,
    zero,
)

IRON = density_of(Decimal(7100), None)
BALANCE = a_scale([a_range("2.2", "0.00001", e="0.0001")], kind="pharmacy balance", accuracy_class="II")
PRECISE = {"G1": replace(a_piece("G1", "2", weight_class="F1"), density=density_of(Decimal(7950), None))}


def an_environment(weights_at: str | None = None) -> Environment:
    """Return the air of a town at 1600 m: 0.98948 kg/m3 by CIPM-2007 (20 C, 835 hPa, 30 %)."""
    warm = Decimal(weights_at) if weights_at else None
    return Environment(Air(Decimal(20), warm, Decimal(30), Decimal(835)))


def of_iron(pieces: dict[str, Piece]) -> dict[str, Piece]:
    return {code: replace(piece, density=IRON) for code, piece in pieces.items()}


def a_case_in(
    environment: Environment | None, pieces: dict[str, Piece], scale: Scale | None = None, load: str | None = None
) -> Case:
    reading = a_reading("increasing", load or "200.0", tuple(PRECISE) if load else stack(200))
    visit = replace(a_visit([reading, *zero("0.00000" if load else "0.0")]), environment=environment)
    return a_case(visit, scale, pieces)


def named(case: Case, name: str) -> Contribution | None:
    budget = a_point(case).budget
    assert budget is not None
    return next((c for c in budget.contributions if c.name == name), None)


def inputs(contribution: Contribution | None) -> dict[str, float]:
    assert contribution is not None
    return {symbol: float(value) for symbol, value, _ in contribution.inputs}


def test_in_measured_air_u_is_made_from_the_air_the_densities_and_the_correction_left_out() -> None:
    """200 kg of 7100 +- 300 (k = 1): V = 200 (1/7100 - 1/8000), by hand; the correction is as in case D12, 0.63 g at 1.0."""
    found = named(a_case_in(an_environment(), of_iron(some_pieces())), "buoyancy in measured air")

    told = inputs(found)
    assert found is not None
    assert told["rho_a"] == pytest.approx(0.98948, abs=1e-4)
    assert told["V"] == pytest.approx(200 * (1 / 7100 - 1 / 8000), rel=1e-3)
    assert told["u(V)"] == pytest.approx(200 * 300 / 7100**2, rel=1e-3)
    assert told["correction"] == pytest.approx(0.0006338 * (1.2 - told["rho_a"]) / 0.2, rel=1e-3)
    terms = (told["u(rho_a)"] * told["V"], (told["rho_a"] - 1.2) * told["u(V)"], told["correction"])
    assert found.standard_uncertainty == pytest.approx(math.hypot(*terms), rel=1e-12)


def test_the_air_at_the_adjustment_stays_a_bound_until_the_span_is_adjusted_at_the_visit() -> None:
    """0.1 x 1.2 / 8000 x 100 kg / sqrt 3 = 0.866 g as found; as left it is the same air."""
    visit = a_visit(all_required(), all_required(), [an_adjustment(pieces=stack(200))])
    case = a_case(replace(visit, environment=an_environment()), pieces=of_iron(some_pieces()))

    found, left = named(case, "air when adjusted"), left_of(judged(case)).points
    budget = next(p.budget for p in left if p.nominal_kg == 100)

    assert found is None  # the first point as found is the zero
    as_found = a_point(case, 2).budget
    assert as_found is not None
    since = next(c for c in as_found.contributions if c.name == "air when adjusted")
    assert since.share == pytest.approx(0.1 * 1.2 / 8000 * 100 / math.sqrt(3), rel=1e-12)
    assert budget is not None
    assert "buoyancy in measured air" in {c.name for c in budget.contributions}
    assert "air when adjusted" not in {c.name for c in budget.contributions}


@pytest.mark.parametrize(
    ("environment", "pieces", "why"),
    [
        (None, of_iron(some_pieces()), "the air was not measured"),
        (an_environment(), some_pieces(), "a density is not known"),
        (an_environment(), of_iron(some_pieces()) | some_pieces(1), "a density is not known"),
    ],
)
def test_where_air_or_a_density_is_not_known_the_bound_counts_and_says_why(
    environment: Environment | None, pieces: dict[str, Piece], why: str
) -> None:
    case = a_case_in(environment, pieces)

    found = named(case, "buoyancy bound")

    assert found is not None
    assert found.source.endswith(why)
    assert named(case, "buoyancy in measured air") is None


def test_the_reference_of_a_patient_scale_is_not_corrected() -> None:
    point = a_point(a_case_in(an_environment(), of_iron(some_pieces())))

    assert point.load is not None
    assert (point.load.reference_kg, point.error_kg) == (200, 0)


def test_the_reference_of_a_balance_is_corrected_and_nothing_was_left_out() -> None:
    """2 kg of steel at 0.98948: -2 (0.98948 - 1.2)(1/7950 - 1/8000) kg = 0.33 mg, by the formula of cg-18 4.2.4."""
    case = a_case_in(an_environment("20"), PRECISE, BALANCE, "2.00000")

    point, told = a_point(case), inputs(named(case, "buoyancy in measured air"))

    assert point.load is not None
    by_hand = buoyancy_correction(2, 7950, told["rho_a"])
    assert float(point.load.buoyancy_kg) == pytest.approx(by_hand, rel=1e-3)
    assert by_hand * 1e6 == pytest.approx(0.331, abs=0.001)
    assert point.load.reference_kg == 2 + point.load.buoyancy_kg
    assert point.error_kg == -point.load.buoyancy_kg
    part = named(case, "buoyancy in measured air")
    assert part is not None
    terms = (told["u(rho_a)"] * told["V"], (told["rho_a"] - 1.2) * told["u(V)"])
    assert part.standard_uncertainty == pytest.approx(math.hypot(*terms), rel=1e-12)


@pytest.mark.parametrize(("weights_at", "most_mg"), [("22", 0.91), ("25", 1.96), (None, 1.27)])
def test_convection_counts_on_a_balance_by_what_was_read_or_the_bound(weights_at: str | None, most_mg: float) -> None:
    """2 kg: Table F2.1 knows m dT of 4, 10 and 6 as 0.91, 1.96 mg and between 1.09 and 1.45 mg."""
    found = named(a_case_in(an_environment(weights_at), PRECISE, BALANCE, "2.00000"), "convection")

    assert found is not None
    assert found.standard_uncertainty * 1e6 == pytest.approx(most_mg / math.sqrt(3), abs=0.004)


def test_convection_never_counts_on_a_patient_scale() -> None:
    assert named(a_case_in(an_environment("35"), of_iron(some_pieces())), "convection") is None


def test_a_density_of_the_table_has_the_table_s_uncertainty_and_a_stated_one_its_own() -> None:
    """OIML R 111-1:2004 Table B.7, from memory: stainless steel 7950 +- 140, k = 2."""
    assumed, stated = density_of(Decimal(7950), None), density_of(Decimal(7963), Decimal(5))

    assert assumed is not None
    assert assumed.expanded_kg_m3 == 140
    assert stated == Density(Decimal(7963), Decimal(5), "stated on the register, k = 2")


@pytest.mark.parametrize(("stated", "expanded"), [(None, None), (None, Decimal(5)), (Decimal(7963), None)])
def test_a_density_without_uncertainty_is_not_known(stated: Decimal | None, expanded: Decimal | None) -> None:
    assert density_of(stated, expanded) is None


def test_the_table_of_assumed_densities_has_its_eight_values() -> None:
    assert len(ASSUMED) == 8
    assert all(expanded < density / 10 for density, expanded in ASSUMED.items())
