"""The error line against its worked example and numpy, its three forms, and what holds whatever the points."""

import json
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.metrology.error_line import ErrorAtLoad, error_line, line_through_zero
from api.metrology.refusals import NotDetermined

EXAMPLE: dict[str, Any] = json.loads(
    (Path(__file__).parents[1] / "worked_examples" / "error_line_through_zero.json").read_text()
)


def points(*rows: tuple[float, float], u: float = 0.05, degrees: float = math.inf) -> list[ErrorAtLoad]:
    return [ErrorAtLoad(load, error, u, degrees) for load, error in rows]


def the_example() -> list[ErrorAtLoad]:
    rows = zip(EXAMPLE["loads"], EXAMPLE["errors"], EXAMPLE["u"], strict=True)
    return [ErrorAtLoad(float(load), float(error), float(u), math.inf) for load, error, u in rows]


def test_the_line_is_the_one_of_the_worked_example() -> None:
    expected = EXAMPLE["expected"]

    line = error_line(the_example())
    error, u = line.at(float(expected["at"]))

    assert line.form == "through zero"
    assert line.slope == pytest.approx(expected["slope"], abs=5e-12)
    assert line.fit.covariance[0][0] ** 0.5 == pytest.approx(expected["u_slope"], abs=5e-13)
    assert line.fit.chi_square == pytest.approx(expected["chi_square"], abs=5e-9)
    assert (error, u) == (pytest.approx(expected["error"], abs=5e-7), pytest.approx(expected["u_error"], abs=5e-8))


def test_a_constant_error_asks_for_a_line_with_a_zero_error() -> None:
    line = error_line(points((50, 0.4), (100, 0.42), (150, 0.38), (200, 0.4)))

    assert line.form == "with a zero error"
    slope, zero = np.polyfit([50, 100, 150, 200], [0.4, 0.42, 0.38, 0.4], 1)
    assert (line.zero_kg, line.slope) == (pytest.approx(zero), pytest.approx(slope))
    assert line.at(0)[0] == pytest.approx(zero)


def test_the_uncertainty_of_a_line_with_a_zero_error_is_least_amid_the_points() -> None:
    line = error_line(points((50, 0.4), (100, 0.42), (150, 0.38), (200, 0.4)))

    u = {load: line.at(load)[1] for load in (0, 50, 125, 200, 300)}

    assert u[125] == pytest.approx(0.05 / 2)  # the mean of four
    assert u[0] > u[50] > u[125] < u[200] < u[300]


def test_a_bend_that_no_line_follows_is_joined_from_load_to_load() -> None:
    line = error_line(points((50, 0.0), (100, 0.0), (150, 0.5), (200, 0.0)))

    assert line.form == "joined from load to load"
    assert line.at(150) == (pytest.approx(0.5), 0.05)
    assert line.at(125)[0] == pytest.approx(0.25)
    assert line.at(25) == (pytest.approx(0.0), 0.05)
    assert line.at(200)[0] == pytest.approx(0.0)


def test_the_errors_of_one_load_are_joined_through_their_mean() -> None:
    line = error_line(points((100, 0.4), (100, 0.6), (200, 0.0)))

    assert line.form == "joined from load to load"
    assert line.at(100)[0] == pytest.approx(0.5)


def test_two_loads_are_not_said_to_lie_on_a_line_with_a_zero_error() -> None:
    assert error_line(points((100, 1.0), (200, 1.0))).form == "joined from load to load"


def test_the_line_has_no_more_degrees_of_freedom_than_its_least_known_point() -> None:
    line = error_line([ErrorAtLoad(50, 0.0, 0.05, 8.1), ErrorAtLoad(100, 0.1, 0.05, math.inf)])

    assert line.degrees_of_freedom == 8.1


def test_zero_alone_gives_no_line() -> None:
    with pytest.raises(NotDetermined):
        error_line(points((0, 0.1)))


LOADS = st.lists(st.integers(1, 300), min_size=2, max_size=8, unique=True)


@given(LOADS, st.floats(-0.003, 0.003), st.floats(0.001, 0.2))
def test_errors_on_a_line_through_zero_give_back_that_line(loads: list[int], slope: float, u: float) -> None:
    line = error_line([ErrorAtLoad(load, slope * load, u, math.inf) for load in loads])

    assert line.form == "through zero"
    assert line.slope == pytest.approx(slope, abs=1e-15)
    assert line.fit.chi_square == pytest.approx(0, abs=1e-12)


@given(LOADS, st.floats(-0.003, 0.003), st.sampled_from([1000.0, 1 / 0.45359237]))
def test_the_slope_is_the_same_in_any_unit(loads: list[int], slope: float, factor: float) -> None:
    in_kilograms = [ErrorAtLoad(load, slope * load + 0.01, 0.05, math.inf) for load in loads]
    other = [ErrorAtLoad(p.load_kg * factor, p.error_kg * factor, p.u_kg * factor, math.inf) for p in in_kilograms]

    here, there = line_through_zero(in_kilograms), line_through_zero(other)

    assert there.values[0] == pytest.approx(here.values[0], rel=1e-12)
    assert there.covariance[0][0] == pytest.approx(here.covariance[0][0], rel=1e-12)
    assert there.chi_square == pytest.approx(here.chi_square, rel=1e-9, abs=1e-12)
