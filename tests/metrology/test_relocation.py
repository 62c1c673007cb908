"""What a move to another gravity does to a scale that measures force."""

import json
import math
from pathlib import Path
from typing import Any

import GTC
import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.metrology.gravity import formula_uncertainty, gravity_at
from api.metrology.relocation import Gravity, relocation_shift

EXAMPLE: dict[str, Any] = json.loads(
    (Path(__file__).parents[1] / "worked_examples" / "gravity.json").read_text(encoding="utf-8")
)
gravities = st.builds(Gravity, st.floats(9.76, 9.84), st.floats(0, 1e-3))


@pytest.mark.parametrize("case", EXAMPLE["moves"], ids=lambda c: c["id"])
def test_a_shift_is_the_one_of_the_example(case: dict[str, Any]) -> None:
    found = relocation_shift(float(case["load"]["value"]), Gravity(float(case["g_from"])), Gravity(float(case["g_to"])))

    assert found.shift == pytest.approx(case["shift"], abs=1e-9 if case["indication"] else 6e-5)


@given(st.floats(0.001, 500), gravities, gravities)
def test_the_uncertainty_agrees_with_the_reference_library(load: float, one: Gravity, other: Gravity) -> None:
    """GTC 1.5.1: load x (g_to / g_from - 1) with both values of g uncertain."""
    start, end = (GTC.ureal(g.g, g.standard_uncertainty) for g in (one, other))

    found = relocation_shift(load, one, other)

    library = load * (end / start - 1)
    assert found.shift == pytest.approx(library.x, rel=1e-9, abs=1e-11)
    assert found.standard_uncertainty == pytest.approx(library.u, rel=1e-9, abs=1e-15)


def test_two_values_from_a_formula_leave_about_12_grams_at_150_kilograms() -> None:
    """m sqrt 2 x 5.8e-5: two half-widths of 1e-4, rectangular."""
    one, other = (
        Gravity(g, formula_uncertainty(g)) for g in (gravity_at(48, 500, "wgs84"), gravity_at(52, 80, "wgs84"))
    )

    found = relocation_shift(150, one, other)

    assert found.standard_uncertainty == pytest.approx(150 * math.sqrt(2) * 1e-4 / math.sqrt(3), rel=1e-3)
    assert found.standard_uncertainty == pytest.approx(0.012, abs=0.0005)


def test_from_the_equator_to_the_pole_a_scale_gains_half_a_percent() -> None:
    """0.5302 %, from the two ends of GRS 80."""
    found = relocation_shift(100, Gravity(gravity_at(0, 0, "grs80")), Gravity(gravity_at(90, 0, "grs80")))

    assert found.shift == pytest.approx(0.5302, abs=5e-5)


@given(st.floats(0.001, 500), gravities)
def test_a_scale_that_stays_is_not_shifted(load: float, at: Gravity) -> None:
    assert relocation_shift(load, at, at).shift == 0
