"""Correlated contributions: the GUM's example of three, what holds for every set, and what cannot be."""

import math
from decimal import Decimal
from typing import Any

import GTC
import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.metrology.correlated import Correlation, brought_together, correlation_of, covariance
from api.metrology.refusals import ImpossibleCorrelations
from api.metrology.uncertainty import coverage_of
from tests.computing import example

H2 = example("gum_h2_correlated")
READINGS = {name: [Decimal(text) for text in texts] for name, texts in H2["readings"].items()}
INPUTS = ("V", "I", "phi")
PAIRS = {"V I": (0, 1), "V phi": (0, 2), "I phi": (1, 2)}
MEANS = {name: float(sum(values, Decimal(0))) / len(values) for name, values in READINGS.items()}


def u_of_mean(name: str) -> float:
    values = READINGS[name]
    return math.sqrt(sum((float(v) - MEANS[name]) ** 2 for v in values) / (len(values) * (len(values) - 1)))


def brought(result: str) -> list[float]:
    """What each input brings to R = V/I cos phi, X = V/I sin phi or Z = V/I (GUM H.2.2): derivative times u."""
    v, i, phi = (MEANS[name] for name in INPUTS)
    of = {"R": math.cos(phi), "X": math.sin(phi), "Z": 1.0}[result]
    slope = {"R": -math.sin(phi), "X": math.cos(phi), "Z": 0.0}[result]
    derivatives = (of / i, -v / i**2 * of, v / i * slope)
    return [c * u_of_mean(name) for c, name in zip(derivatives, INPUTS, strict=True)]


def correlations_of_the_readings() -> list[Correlation]:
    found = [(a, b, correlation_of(READINGS[INPUTS[a]], READINGS[INPUTS[b]])) for a, b in PAIRS.values()]
    return [Correlation(a, b, r) for a, b, r in found]


@pytest.mark.parametrize("pair", sorted(PAIRS))
def test_the_correlation_of_readings_in_pairs_is_that_of_the_example(pair: str) -> None:
    """GUM H.2, Table H.2."""
    a, b = PAIRS[pair]

    found = correlation_of(READINGS[INPUTS[a]], READINGS[INPUTS[b]])

    assert found == pytest.approx(H2["correlations"][pair], abs=5e-5)


@pytest.mark.parametrize("result", ["R", "X", "Z"])
def test_u_of_correlated_inputs_is_that_of_the_example(result: str) -> None:
    """GUM H.2, Table H.3; the printed 0.295 of X is one step below the 0.2956 that its readings give."""
    shares = brought(result)

    found = math.sqrt(covariance(shares, shares, correlations_of_the_readings()))

    assert found == pytest.approx(H2["expected"][result]["u"], rel=1e-6)
    assert found == pytest.approx(H2["published"][result]["u"], abs=0.001)


@pytest.mark.parametrize("pair", ["R X", "R Z", "X Z"])
def test_two_results_of_the_same_inputs_are_correlated_as_in_the_example(pair: str) -> None:
    """GUM H.2, Table H.3."""
    one, other = (brought(result) for result in pair.split())
    known = correlations_of_the_readings()

    found = covariance(one, other, known) / math.sqrt(covariance(one, one, known) * covariance(other, other, known))

    assert found == pytest.approx(H2["expected"]["r"][pair], rel=1e-6)
    assert round(found, 3) == H2["published"]["r"][pair]


@pytest.mark.parametrize("result", ["R", "X", "Z"])
def test_u_and_degrees_of_freedom_of_readings_taken_together_agree_with_the_reference_library(result: str) -> None:
    """GTC 1.5.1 keeps four degrees of freedom for an ensemble of five readings (Willink 2007, as its manual says)."""
    v, i, phi = GTC.type_a.multi_estimate_real([[float(x) for x in READINGS[name]] for name in INPUTS])
    by_library = {"R": v / i * GTC.cos(phi), "X": v / i * GTC.sin(phi), "Z": v / i}[result]

    shares, degrees = brought_together(brought(result), [4.0, 4.0, 4.0], correlations_of_the_readings())
    u, effective, _ = coverage_of(shares, degrees)

    assert u == pytest.approx(by_library.u, rel=1e-9)
    assert effective == pytest.approx(by_library.df, rel=1e-9) == pytest.approx(4)


@pytest.mark.parametrize(("r", "expected"), [(1.0, 7.0), (-1.0, 1.0), (0.0, 5.0)])
def test_two_contributions_add_as_numbers_against_each_other_or_as_squares(r: float, expected: float) -> None:
    """GUM 5.2.2: 3 and 4 with r = 1, -1 and 0."""
    shares, _ = brought_together([3.0, 4.0], [math.inf, math.inf], [Correlation(0, 1, r)])

    assert math.hypot(*shares) == pytest.approx(expected, rel=1e-15)


def test_a_share_s_sign_turns_its_correlation_round() -> None:
    shares, _ = brought_together([3.0, -4.0], [math.inf, math.inf], [Correlation(0, 1, 1.0)])

    assert shares == [1.0]


def test_contributions_that_hang_together_through_a_third_are_one_with_the_fewest_degrees_of_freedom() -> None:
    known = [Correlation(0, 1, 0.5), Correlation(4, 3, 0.5), Correlation(3, 1, 0.5)]

    shares, degrees = brought_together([1.0, 1.0, 7.0, 1.0, 1.0], [9.0, 5.0, 2.0, math.inf, 8.0], known)

    assert shares == [7.0, pytest.approx(math.sqrt(4 + 3))]
    assert degrees == [2.0, 5.0]


def test_a_coefficient_of_zero_joins_nothing() -> None:
    assert brought_together([1.0, 2.0], [3.0, 4.0], [Correlation(0, 1, 0.0)]) == ([1.0, 2.0], [3.0, 4.0])


def test_readings_that_never_moved_are_correlated_with_nothing() -> None:
    assert correlation_of([Decimal(1)] * 3, [Decimal(1), Decimal(2), Decimal(3)]) == 0


IMPOSSIBLE: list[Any] = [
    [(0, 1, 0.9), (1, 2, 0.9), (0, 2, -0.9)],
    [(0, 1, 1.0), (1, 2, 1.0)],
    [(0, 1, 1.0), (1, 2, 1.0), (0, 2, 0.99)],
    [(0, 1, 0.8), (0, 2, 0.8)],
]


@pytest.mark.parametrize("triples", IMPOSSIBLE)
def test_coefficients_with_a_negative_variance_somewhere_are_refused(triples: list[tuple[int, int, float]]) -> None:
    """Their matrices have an eigenvalue below zero (by hand: 1 - 1.8, 1 - sqrt 2, less than 0, 1 - 0.8 sqrt 2)."""
    with pytest.raises(ImpossibleCorrelations, match="below zero"):
        brought_together([1.0] * 3, [math.inf] * 3, [Correlation(*triple) for triple in triples])


def test_a_full_set_of_ones_is_possible() -> None:
    pairs = [(a, b) for a in range(6) for b in range(a)]

    shares, _ = brought_together([1.0] * 6, [math.inf] * 6, [Correlation(a, b, 1.0) for a, b in pairs])

    assert shares == [pytest.approx(6.0)]


SPREAD = st.lists(st.lists(st.integers(-50, 50), min_size=3, max_size=3), min_size=4, max_size=9)


@given(SPREAD, st.lists(st.floats(-10, 10), min_size=3, max_size=3))
def test_coefficients_of_real_readings_are_never_refused(rows: list[list[int]], weights: list[float]) -> None:
    """And the variance of a sum is that of the sums of the readings, each in its own s."""
    columns = [[Decimal(value) for value in column] for column in zip(*rows, strict=True)]
    known = [Correlation(a, b, correlation_of(columns[a], columns[b])) for a, b in ((0, 1), (1, 2), (0, 2))]
    spreads = [math.sqrt(sum((float(v) - float(sum(c)) / len(c)) ** 2 for v in c)) for c in columns]
    shares = [weight * spread for weight, spread in zip(weights, spreads, strict=True)]
    sums = [sum(w * v for w, v in zip(weights, row, strict=True)) for row in rows]
    mean = sum(sums) / len(sums)

    found, _ = brought_together(shares, [math.inf] * 3, known)

    total = sum(s * s for s in found)
    scale = sum(s * s for s in shares)
    assert total == pytest.approx(sum((value - mean) ** 2 for value in sums), rel=1e-6, abs=1e-9 * scale + 1e-12)
