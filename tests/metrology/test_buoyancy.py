"""Buoyancy corrections and conventional masses against the published definition."""

import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.metrology.buoyancy import RHO_0, RHO_C, buoyancy_correction, conventional_mass

EXAMPLE: dict[str, Any] = json.loads(
    (Path(__file__).parents[1] / "worked_examples" / "buoyancy.json").read_text(encoding="utf-8")
)


@pytest.mark.parametrize("case", EXAMPLE["corrections"], ids=lambda c: c["id"])
def test_a_correction_is_the_one_of_the_example(case: dict[str, Any]) -> None:
    """EURAMET cg-18 v4.0 4.2.4."""
    found = buoyancy_correction(
        float(case["nominal"]["value"]), float(case["density_kg_m3"]), float(case["air_density_kg_m3"])
    )

    assert found == pytest.approx(case["correction"], rel=1e-12)


@pytest.mark.parametrize("case", EXAMPLE["relative"], ids=lambda c: c["id"])
def test_a_correction_of_cast_iron_or_steel_is_as_small_as_the_sources_say(case: dict[str, Any]) -> None:
    found = buoyancy_correction(1.0, case["density_kg_m3"], case["air_density_kg_m3"])

    assert found == pytest.approx(case["relative"], rel=0.05)


@pytest.mark.parametrize("case", EXAMPLE["conventional"], ids=lambda c: c["id"])
def test_a_conventional_mass_is_the_one_of_the_example(case: dict[str, Any]) -> None:
    """OIML D 28: weighed in air of 1.2 kg/m3 against weights of 8000 kg/m3."""
    found = conventional_mass(1.0, float(case["density_kg_m3"]))

    assert found == pytest.approx(case["conventional_mass"], abs=1e-12)
    if case["published"]:
        assert round(found - 1, 4) == float(case["published"])


@given(st.floats(500, 22_000))
def test_a_load_is_not_corrected_in_air_of_the_definition(density: float) -> None:
    assert buoyancy_correction(100.0, density, RHO_0) == 0


@given(st.floats(0.9, 1.3))
def test_weights_of_the_conventional_density_are_never_corrected(air: float) -> None:
    assert buoyancy_correction(100.0, RHO_C, air) == 0
    assert conventional_mass(100.0, RHO_C) == 100.0


@given(st.floats(500, 22_000), st.floats(0.9, 1.3))
def test_a_correction_is_what_two_weighings_in_air_differ_by(density: float, air: float) -> None:
    """From Archimedes alone: a body and a weight of 8000 kg/m3 that balance at 1.2, brought into other air."""
    mass = 1.0
    weight = conventional_mass(mass, density)

    pressed = mass * (1 - air / density) / (1 - air / RHO_C) - weight

    assert buoyancy_correction(mass, density, air) == pytest.approx(pressed, abs=3e-7)
