"""Student's t against the printed table, scipy and mpmath."""

import json
import math
from pathlib import Path
from statistics import NormalDist

import mpmath
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import special, stats

from api.metrology.coverage_factors import coverage_factor, student_distribution, student_quantile, whole_degrees

TABLE = json.loads((Path(__file__).parents[1] / "worked_examples" / "gum_table_g2.json").read_text())
SOURCE = "GUM (JCGM 100:2008) Table G.2"

CELLS = [
    (float(percent) / 100, row[0], printed)
    for row in TABLE["rows"]
    for percent, printed in zip(TABLE["percent"], row[1:], strict=True)
]
PROBABILITIES = [0.6827, 0.90, 0.95, 0.9545, 0.99, 0.9973]
FEW_AND_MANY = [1, 2, 3, 4, 5, 8, 16, 33, 109, 250, 999, 1000, 1001, 1500, 5_000, 100_000]

degrees = st.integers(1, 400)
real_t = st.floats(-40, 40)


def digits_after_the_point(printed: str) -> int:
    return len(printed.partition(".")[2])


@pytest.mark.parametrize(
    ("probability", "nu", "printed"), CELLS, ids=[f"{p:.2%} nu {n}, {SOURCE}" for p, n, _ in CELLS]
)
def test_a_factor_is_the_printed_one_to_its_last_digit(probability: float, nu: int, printed: str) -> None:
    found = student_quantile(probability, nu)

    assert f"{found:.{digits_after_the_point(printed)}f}" == printed


@pytest.mark.parametrize(("nu", "k"), TABLE["six_digits_9545"], ids=lambda value: f"{value} (scipy 1.17.1)")
def test_the_usual_factor_has_the_six_digits_computed_elsewhere(nu: int, k: float) -> None:
    assert coverage_factor(nu) == pytest.approx(k, abs=1e-6)


@pytest.mark.parametrize("nu", FEW_AND_MANY)
@pytest.mark.parametrize("probability", PROBABILITIES)
def test_a_factor_is_the_one_of_the_reference_library(probability: float, nu: int) -> None:
    by_scipy = special.stdtrit(nu, (1 + probability) / 2)

    assert student_quantile(probability, nu) == pytest.approx(by_scipy, rel=1e-12)


def exact_distribution(t: float, nu: int) -> mpmath.mpf:
    """P(T <= t) to 40 digits by the incomplete beta function."""
    with mpmath.workdps(40):
        square = mpmath.mpf(t) ** 2
        tail = mpmath.betainc(mpmath.mpf(nu) / 2, mpmath.mpf(1) / 2, 0, nu / (nu + square), regularized=True) / 2
        return 1 - tail if t > 0 else tail


@pytest.mark.parametrize("nu", FEW_AND_MANY)
@pytest.mark.parametrize("t", [-12.0, -3.3, -2.0, -0.1, 0.0, 0.5, 1.0, 2.0, 4.7, 20.0])
def test_the_distribution_agrees_with_forty_digit_arithmetic(t: float, nu: int) -> None:
    assert student_distribution(t, nu) == pytest.approx(float(exact_distribution(t, nu)), abs=2e-11)


@given(real_t.filter(lambda t: abs(t) > 0.02), degrees)
def test_the_distribution_agrees_with_the_reference_library(t: float, nu: int) -> None:
    """Not at the very middle, where the library loses digits: at 2e-8 it is 1.8e-10 off the arctangent below."""
    assert student_distribution(t, nu) == pytest.approx(float(stats.t.cdf(t, nu)), abs=2e-11)


@given(st.floats(-0.02, 0.02))
def test_the_distribution_of_one_degree_is_the_arctangent_to_its_middle(t: float) -> None:
    """Cauchy's distribution."""
    assert student_distribution(t, 1) == pytest.approx(0.5 + math.atan(t) / math.pi, abs=1e-15)


@given(real_t, degrees)
def test_the_distribution_is_symmetric(t: float, nu: int) -> None:
    assert student_distribution(t, nu) + student_distribution(-t, nu) == pytest.approx(1, abs=1e-15)


@given(st.sampled_from(PROBABILITIES), degrees)
def test_the_distribution_undoes_the_factor(probability: float, nu: int) -> None:
    t = student_quantile(probability, nu)

    assert student_distribution(t, nu) - student_distribution(-t, nu) == pytest.approx(probability, abs=4e-11)


@given(st.floats(1, 3000), st.floats(1, 3000))
def test_more_degrees_of_freedom_never_give_a_larger_factor(one: float, other: float) -> None:
    fewer, more = sorted([one, other])

    assert coverage_factor(fewer) >= coverage_factor(more) > 2


def test_the_factor_of_infinite_degrees_is_exactly_two() -> None:
    assert coverage_factor(math.inf) == 2.0


def test_the_factor_of_infinite_degrees_at_another_level_is_the_normal_one() -> None:
    assert coverage_factor(math.inf, 0.95) == pytest.approx(1.959963984540054, rel=1e-13)


@pytest.mark.parametrize(
    ("effective", "whole"), [(16.75, 16), (33.3103, 33), (8.128, 8), (8.999, 8), (0.7, 1), (1.0, 1)]
)
def test_effective_degrees_are_truncated_to_the_next_lower_integer(effective: float, whole: int) -> None:
    """GUM (JCGM 100:2008) G.4.1."""
    assert whole_degrees(effective) == whole
    assert coverage_factor(effective) == student_quantile(0.9545, whole)


@pytest.mark.parametrize("nu", [93, 99, 105, 117, 123, 186, 198])
def test_an_integer_that_division_left_a_hair_short_is_that_integer(nu: int) -> None:
    effective = 1 / (1 / nu)

    assert effective < nu
    assert whole_degrees(effective) == nu


def test_a_hundred_degrees_are_not_yet_two() -> None:
    """Table G.2 prints 2.025 at 100, so that no cut-off to 2 is made there."""
    assert coverage_factor(100) == pytest.approx(2.025, abs=0.0005)


@pytest.mark.parametrize("t", [-1e300, 1e300, math.inf])
@pytest.mark.parametrize("nu", [5, 30, 10**12])
def test_the_far_ends_of_the_distribution_are_0_and_1(t: float, nu: int) -> None:
    assert student_distribution(t, nu) == pytest.approx(1 if t > 0 else 0, abs=1e-30)


@pytest.mark.parametrize("degrees", [1e15, 1e80, 1e300])
def test_k_of_enormous_degrees_is_that_of_the_normal_distribution(degrees: float) -> None:
    """A contribution of a billionth of u with few degrees leaves so many; the fourth power of them is no float."""
    assert coverage_factor(degrees) == pytest.approx(NormalDist().inv_cdf(0.97725), rel=1e-14)
