"""The minimum weight by its two rules, and that there may be none."""

import json
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.metrology.minimum_weight import minimum_weight_in_use, minimum_weight_usp
from api.metrology.refusals import NoMinimumWeight

EXAMPLE: dict[str, Any] = json.loads(
    (Path(__file__).parents[1] / "worked_examples" / "minimum_weight.json").read_text(encoding="utf-8")
)
IN_USE = ("alpha", "beta", "requirement", "safety_factor")


@pytest.mark.parametrize("case", EXAMPLE["usp"], ids=lambda c: c["id"])
def test_the_rule_of_usp_41_gives_the_weight_of_the_example(case: dict[str, str]) -> None:
    found = minimum_weight_usp(Decimal(case["standard_deviation"]), Decimal(case["division"]))

    assert found == Decimal(case["minimum_weight"])


@pytest.mark.parametrize("case", EXAMPLE["in_use"], ids=lambda c: c["id"])
def test_the_rule_of_cg_18_appendix_g_gives_the_weight_of_the_example(case: dict[str, Any]) -> None:
    found = minimum_weight_in_use(*(float(case[name]) for name in IN_USE))

    assert found == pytest.approx(case["minimum_weight"], rel=1e-12)


@pytest.mark.parametrize("case", EXAMPLE["none"], ids=lambda c: c["id"])
def test_where_no_load_is_good_enough_none_is_given(case: dict[str, Any]) -> None:
    with pytest.raises(NoMinimumWeight, match="No load is good enough"):
        minimum_weight_in_use(*(float(case[name]) for name in IN_USE))


@given(st.floats(1e-6, 1e-3), st.floats(0, 1e-4), st.floats(1e-3, 0.1), st.floats(1, 5))
def test_at_the_minimum_weight_the_uncertainty_is_just_the_requirement(
    alpha: float, beta: float, requirement: float, factor: float
) -> None:
    found = minimum_weight_in_use(alpha, beta, requirement, factor)

    assert factor * (alpha + beta * found) == pytest.approx(requirement * found, rel=1e-9)
