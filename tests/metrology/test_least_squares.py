"""Weighted least squares by hand against numpy's own solver, and the limit of chi-square against the distribution."""

from random import Random

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import chi2

from api.metrology.least_squares import chi_square_limit, fitted, tells_apart, variance_along
from api.metrology.refusals import NotDetermined

NUMBERS = st.floats(-10, 10, allow_nan=False).map(lambda x: round(x, 3))


@st.composite
def a_problem(draw: st.DrawFn) -> tuple[list[list[float]], list[float], list[float]]:
    """Return a design of one to four well separated columns, what was seen, and each row's uncertainty."""
    count = draw(st.integers(1, 4))
    rows = draw(st.lists(st.lists(NUMBERS, min_size=count, max_size=count), min_size=count, max_size=9))
    design = [[*row] for row in rows]
    for place in range(count):  # a strong diagonal keeps the columns apart
        design[place][place] += 40
    seen = draw(st.lists(NUMBERS, min_size=len(rows), max_size=len(rows)))
    u = draw(st.lists(st.floats(0.05, 2), min_size=len(rows), max_size=len(rows)))
    return design, seen, u


@given(a_problem())
def test_values_covariance_and_chi_square_are_those_of_numpy(
    problem: tuple[list[list[float]], list[float], list[float]],
) -> None:
    design, seen, u = problem
    weighed = np.array(design) / np.array(u)[:, None]
    target = np.array(seen) / np.array(u)

    fit = fitted(design, seen, u)

    values = np.linalg.lstsq(weighed, target, rcond=None)[0]
    np.testing.assert_allclose(fit.values, values, rtol=1e-8, atol=1e-10)
    np.testing.assert_allclose(fit.covariance, np.linalg.inv(weighed.T @ weighed), rtol=1e-8, atol=1e-12)
    assert fit.chi_square == pytest.approx(float(((target - weighed @ values) ** 2).sum()), rel=1e-7, abs=1e-8)
    assert fit.degrees_of_freedom == len(seen) - len(values)


@given(a_problem(), st.randoms())
def test_the_order_of_the_observations_changes_nothing(
    problem: tuple[list[list[float]], list[float], list[float]], luck: Random
) -> None:
    rows = list(zip(*problem, strict=True))
    shuffled = rows.copy()
    luck.shuffle(shuffled)

    first, second = (fitted(*(list(part) for part in zip(*order, strict=True))) for order in (rows, shuffled))

    np.testing.assert_allclose(first.values, second.values, rtol=1e-9, atol=1e-11)
    np.testing.assert_allclose(first.covariance, second.covariance, rtol=1e-9, atol=1e-13)


def test_columns_that_say_the_same_are_refused() -> None:
    with pytest.raises(NotDetermined) as refused:
        fitted([[1.0, 2.0], [2.0, 4.0], [3.0, 6.0]], [1.0, 2.0, 3.0], [1.0, 1.0, 1.0])

    assert refused.value.facts == {"observations": "3", "unknowns": "2"}


def test_fewer_observations_than_unknowns_are_refused() -> None:
    assert not tells_apart([[1.0, 2.0, 3.0], [0.0, 1.0, 4.0]])
    with pytest.raises(NotDetermined, match="2 observations cannot give 3 unknowns"):
        fitted([[1.0, 2.0, 3.0], [0.0, 1.0, 4.0]], [1.0, 1.0], [1.0, 1.0])


def test_a_column_of_zeros_is_refused() -> None:
    assert not tells_apart([[0.0], [0.0]])


def test_one_unknown_is_the_weighted_mean() -> None:
    fit = fitted([[1.0], [1.0]], [1.0, 4.0], [1.0, 0.5])

    assert fit.values[0] == pytest.approx((1 / 1 + 4 / 0.25) / (1 + 4))
    assert fit.covariance[0][0] == pytest.approx(1 / 5)


@pytest.mark.parametrize("degrees", [1, 2, 3, 4, 6, 9])
def test_the_limit_of_chi_square_is_exceeded_by_chance_in_about_one_of_twenty(degrees: int) -> None:
    """scipy 1.17: the chance of more than nu + 2 sqrt(2 nu)."""
    assert 0.03 < chi2.sf(chi_square_limit(degrees), degrees) < 0.06


def test_the_variance_of_a_difference_counts_the_covariance() -> None:
    assert variance_along(((4.0, 1.5), (1.5, 1.0)), (1.0, -1.0)) == pytest.approx(2.0)
