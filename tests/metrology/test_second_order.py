"""Terms of the second order: the GUM's end gauge, and models whose variance is known in closed form."""

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.metrology.refusals import NegativeVariance
from api.metrology.second_order import Bend, second_order_variance
from api.metrology.uncertainty import coverage_of
from tests.computing import example

H1: dict[str, Any] = example("gum_h1_second_order")
NAMES = [c["name"] for c in H1["contributions"]]
U = [float(c["standard_uncertainty"]) for c in H1["contributions"]]
SENSITIVITIES = [float(c.get("sensitivity", 1)) for c in H1["contributions"]]
BENDS = [Bend(NAMES.index(t["first"]), NAMES.index(t["second"]), float(t["derivative"])) for t in H1["second_order"]]
SIZES = st.floats(0.1, 10)


def test_the_end_gauge_has_the_u_of_the_example_to_the_second_order() -> None:
    """GUM H.1.7: 32 nm become 34 nm."""
    shares = [c * u for c, u in zip(SENSITIVITIES, U, strict=True)]

    first, _, _ = coverage_of(shares, [math.inf] * len(shares))
    u, _, _ = coverage_of(shares, [math.inf] * len(shares), second_order=second_order_variance(U, SENSITIVITIES, BENDS))

    assert first == pytest.approx(H1["expected"]["first_order"], rel=1e-6)
    assert u == pytest.approx(H1["expected"]["u"], rel=1e-6)
    assert round(u) == H1["published"]["u"]


@pytest.mark.parametrize("number", [0, 1])
def test_each_product_of_the_end_gauge_adds_the_term_of_the_example(number: int) -> None:
    found = math.sqrt(second_order_variance(U, SENSITIVITIES, [BENDS[number]]))

    assert found == pytest.approx(H1["expected"]["terms"][number], rel=1e-6)


@given(st.floats(-10, 10), st.floats(-10, 10), SIZES, SIZES)
def test_a_product_of_two_has_exactly_the_variance_of_a_product(x: float, y: float, u_x: float, u_y: float) -> None:
    """Var(XY) = y2 u2(x) + x2 u2(y) + u2(x) u2(y) for independent X and Y: from their moments alone."""
    first = (y * u_x) ** 2 + (x * u_y) ** 2

    found = first + second_order_variance([u_x, u_y], [y, x], [Bend(0, 1, 1.0)])

    assert found == pytest.approx(first + (u_x * u_y) ** 2)


@given(st.floats(-10, 10), SIZES)
def test_a_square_has_exactly_the_variance_of_a_normal_square(x: float, u: float) -> None:
    """Var(X2) = 4 x2 u2 + 2 u4 for a normal X: from its moments alone."""
    found = (2 * x * u) ** 2 + second_order_variance([u], [2 * x], [Bend(0, 0, 2.0)])

    assert found == pytest.approx(4 * x**2 * u**2 + 2 * u**4)


@given(st.floats(-10, 10), SIZES)
def test_a_cube_has_the_variance_of_a_normal_cube_up_to_the_fourth_power_of_u(x: float, u: float) -> None:
    """Var(X3) = 9 x4 u2 + 36 x2 u4 + 15 u6 for a normal X: from its moments alone; the last is of the third order."""
    found = (3 * x**2 * u) ** 2 + second_order_variance([u], [3 * x**2], [Bend(0, 0, 6 * x, third=6.0)])

    assert found == pytest.approx(9 * x**4 * u**2 + 36 * x**2 * u**4)


def test_third_derivatives_count_both_ways() -> None:
    """f = a b2: df/da = b2, d2f/da db = 2 b, d3f/da db2 = 2, d2f/db2 = 2 a; Var for normal a, b in closed form."""
    a, b, u_a, u_b = 3.0, 2.0, 0.1, 0.2
    bends = [Bend(1, 0, 2 * b, third_back=2.0), Bend(1, 1, 2 * a)]

    found = second_order_variance([u_a, u_b], [b**2, 2 * a * b], bends)

    exact = (a**2 + u_a**2) * (b**4 + 6 * b**2 * u_b**2 + 3 * u_b**4) - (a * (b**2 + u_b**2)) ** 2
    first = (b**2 * u_a) ** 2 + (2 * a * b * u_b) ** 2
    assert found == pytest.approx(exact - first - 3 * u_a**2 * u_b**4, rel=1e-12)


def test_a_second_order_that_leaves_less_than_nothing_is_refused() -> None:
    beyond = second_order_variance([1.0], [1.0], [Bend(0, 0, 0.0, third=-2.0)])

    with pytest.raises(NegativeVariance, match="two orders"):
        coverage_of([1.0], [math.inf], second_order=beyond)


@pytest.mark.parametrize(("second_order", "u"), [(-0.99, 0.1), (-1.0, 0.0), (0.21, 1.1)])
def test_whatever_variance_is_left_is_the_square_of_u(second_order: float, u: float) -> None:
    """1 - 0.99 = 0.1 squared; all of it taken away leaves none; 1 + 0.21 = 1.1 squared."""
    found, _, _ = coverage_of([1.0], [math.inf], second_order=second_order)

    assert found == pytest.approx(u, abs=1e-12)
