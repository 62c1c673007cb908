"""What goes into a budget: each contribution by itself, and the whole of a patient scale built from its pieces.

Formulas of EURAMET cg-18 v4.0 (11/2015) section 7.1, from memory; sums of the worked example by GTC 1.5.1.
"""

import json
import math
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest

from api.metrology import contributions
from api.metrology.contributions import Corners
from api.metrology.policy import STARTING
from api.metrology.repeatability import Repeats, pooled_spread
from api.metrology.uncertainty import budget_of
from api.metrology.weights import reference_load
from tests.metrology.a_case import (
    a_case,
    a_piece,
    a_point,
    a_range,
    a_reading,
    a_scale,
    a_visit,
    eccentricity,
    repeatability,
    some_pieces,
    stack,
)

EXAMPLES = Path(__file__).parents[1] / "worked_examples"
D07 = json.loads((EXAMPLES / "patient_scale_budget.json").read_text())
NOMINAL = replace(STARTING, reference="nominal")
DIVISION = Decimal("0.1")
IN_GRAMS = 1000


def test_the_patient_scale_is_rebuilt_from_its_pieces_readings_and_corners() -> None:
    """Case D07, own (GTC): five 20 kg M1 within class, 100.0/100.1/100.1 kg, 100 g at 70 kg, drift 1 g each."""
    readings = tuple(Decimal(text) for text in ("100.0", "100.1", "100.1"))
    load = reference_load(stack(100), some_pieces(certified=False), NOMINAL)

    parts = [
        contributions.rounding_at_zero(DIVISION),
        contributions.rounding_at_load(DIVISION),
        contributions.repeatability(pooled_spread([Repeats(readings, DIVISION, DIVISION)])),
        contributions.eccentricity(Corners(Decimal("0.1"), Decimal(70)), Decimal(100)),
        *contributions.of_the_weights(load, adjusted_before=False),
    ]

    found, expected = budget_of(parts), D07["expected"]
    assert sorted(p.share * IN_GRAMS for p in parts) == pytest.approx(sorted(c["u"] for c in D07["contributions"]))
    assert found.combined * IN_GRAMS == pytest.approx(81.97479961615547, rel=1e-12)
    assert found.combined * IN_GRAMS == pytest.approx(expected["u"], rel=1e-12)
    assert found.effective_degrees_of_freedom == pytest.approx(expected["nu_eff"], rel=1e-9)
    assert found.k == pytest.approx(expected["k"], rel=1e-9)
    assert found.expanded * IN_GRAMS == pytest.approx(expected["U"], rel=1e-9)
    assert f"{found.printed:f}" == "0.19"


def test_a_visit_to_the_patient_scale_has_the_budget_of_the_worked_example() -> None:
    """The same case D07 through a whole visit: 200 kg x 100 g, corners with 3 x 20 kg and 10 kg."""
    pieces = some_pieces(certified=False) | {"T10": a_piece("T10", "10", certificate=None)}
    corners = eccentricity("70.0", ("70.1", "70.0", "70.0", "70.0"), (*stack(60), "T10"))
    visit = a_visit(
        [
            a_reading("increasing", "100.0", stack(100), placed="stacked aside"),
            *corners,
            *repeatability(("100.0", "100.1", "100.1")),
        ]
    )

    budget = a_point(a_case(visit, a_scale([a_range("200")]), pieces, policy=NOMINAL)).budget

    assert budget is not None
    assert budget.combined * IN_GRAMS == pytest.approx(D07["expected"]["u"], rel=1e-12)
    assert budget.effective_degrees_of_freedom == pytest.approx(D07["expected"]["nu_eff"], rel=1e-9)
    assert budget.expanded * IN_GRAMS == pytest.approx(D07["expected"]["U"], rel=1e-9)


@pytest.mark.parametrize("rounding", [contributions.rounding_at_zero, contributions.rounding_at_load])
def test_a_rounding_is_half_a_division_either_way(rounding: object) -> None:
    """d / (2 sqrt 3), GUM (JCGM 100:2008) 4.3.7 for a rectangle of half width d / 2."""
    assert callable(rounding)

    found = rounding(DIVISION)

    assert found.standard_uncertainty == pytest.approx(0.05 / math.sqrt(3), rel=1e-15)
    assert found.distribution == "rectangular"
    assert found.degrees_of_freedom == math.inf


def test_repeatability_is_the_s_of_a_single_reading_with_its_degrees_of_freedom() -> None:
    """s of 0, 1, 1 divisions is sqrt(1/3) d, two degrees of freedom (GUM 4.2.2)."""
    readings = tuple(Decimal(text) for text in ("100.0", "100.1", "100.1"))

    found = contributions.repeatability(pooled_spread([Repeats(readings, DIVISION, DIVISION)]))

    assert found.standard_uncertainty == pytest.approx(0.1 / math.sqrt(3), rel=1e-15)
    assert found.degrees_of_freedom == 2


def test_eccentricity_grows_with_the_indication_and_has_no_sign() -> None:
    corners = Corners(Decimal("0.1"), Decimal(70))

    found = [contributions.eccentricity(corners, Decimal(shown)) for shown in ("0", "100", "200", "-100")]

    shares = [part.share for part in found]
    assert shares[0] == 0
    assert shares[2] == pytest.approx(2 * shares[1], rel=1e-15)
    assert shares[3] == shares[1]
    assert "70 kg" in found[1].source


@pytest.mark.parametrize(
    ("placed", "may_be_off"), [(None, True), ("spread", True), ("stacked aside", True), ("one body centred", False)]
)
def test_only_one_body_over_the_centre_leaves_its_place_out_of_the_budget(placed: object, may_be_off: bool) -> None:
    """EURAMET cg-18 v4.0 7.1.1, from memory; the words for the placing are the project's own."""
    assert contributions.centre_may_be_off(placed) is may_be_off


def test_a_scale_adjusted_just_before_has_the_smaller_buoyancy_bound() -> None:
    """cg-18 v4.0 7.1.2.4, from memory: 5 x 20 kg M1, 1.5877 g not adjusted, mpe / (4 sqrt 3) = 0.7217 g adjusted."""
    load = reference_load(stack(100), some_pieces(), STARTING)

    before, after = (contributions.of_the_weights(load, adjusted)[2] for adjusted in (False, True))

    assert before.share * IN_GRAMS == pytest.approx(1.5877132402714709, rel=1e-12)
    assert after.share * IN_GRAMS == pytest.approx(5 / (4 * math.sqrt(3)), rel=1e-12)


def test_without_certificates_the_weights_and_their_drift_come_from_the_class_limits() -> None:
    """Five 20 kg M1 of 1 g (R 111-1 Table 1): 5 g / sqrt 3, and k_D times that."""
    load = reference_load(stack(100), some_pieces(certified=False), NOMINAL)

    value, drift, _ = contributions.of_the_weights(load, adjusted_before=False)

    assert value.inputs == (("sum of mpe", Decimal("0.005"), "kg"),)
    assert "sum of mpe / sqrt 3" in value.source
    assert drift.inputs == (("k_D", Decimal(1), "1"), ("sum of mpe", Decimal("0.005"), "kg"))
    assert "k_D x sum of mpe / sqrt 3" in drift.source


def test_every_contribution_says_where_it_comes_from() -> None:
    load = reference_load(stack(100), some_pieces(), STARTING)

    parts = [
        contributions.rounding_at_zero(DIVISION),
        contributions.rounding_at_load(DIVISION),
        contributions.eccentricity(Corners(DIVISION, Decimal(70)), Decimal(100)),
        *contributions.of_the_weights(load, adjusted_before=False),
    ]

    assert all("cg-18 7.1" in part.source for part in parts)
