"""Convection against the table it was fitted to, and what is taken where temperatures were read or not."""

from decimal import Decimal
from typing import Any

import pytest

from api.metrology.convection import convection_mg, warmth_of
from api.metrology.submission import Air, Environment
from tests.computing import example

TABLE: dict[str, Any] = example("convection")
VALUES = [
    (row["mass_kg"], apart, mg)
    for row in TABLE["rows"]
    for apart, mg in zip(TABLE["differences_k"], row["mg"], strict=True)
    if mg is not None
]


def read(air: str | None, weights: str | None) -> Air:
    return Air(Decimal(air) if air else None, Decimal(weights) if weights else None)


@pytest.mark.parametrize(("mass_kg", "apart", "mg"), VALUES)
def test_convection_is_that_of_the_table_to_its_last_digit(mass_kg: float, apart: float, mg: float) -> None:
    """EURAMET cg-18 v4.0 Table F2.1, from memory; 42 values, each within half a step of its last digit and rounding."""
    assert convection_mg(mass_kg, apart) == pytest.approx(mg, abs=0.0055)


def test_the_larger_difference_of_start_and_end_counts_whichever_is_warmer() -> None:
    warmth = warmth_of(Environment(read("20.0", "22.5"), read("22.0", "20.5")))

    assert (warmth.difference_k, warmth.source) == (Decimal("2.5"), "read at the visit")


def test_a_difference_below_the_least_of_the_table_counts_as_that_one() -> None:
    assert warmth_of(Environment(read("21.0", "21.0"))).difference_k == 1


@pytest.mark.parametrize("environment", [None, Environment(), Environment(read("21.0", None), read(None, "30.0"))])
def test_where_the_weights_temperature_was_not_read_the_bound_counts(environment: Environment | None) -> None:
    warmth = warmth_of(environment)

    assert warmth.difference_k == 3
    assert "not read" in warmth.source
