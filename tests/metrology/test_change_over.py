"""Change-over points: the published example, exact, and what cannot have been added."""

import json
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.metrology.change_over import change_over
from api.metrology.decision import SIMPLE_ACCEPTANCE, decide
from api.metrology.refusals import NoChangeOver

EXAMPLE: dict[str, Any] = json.loads(
    (Path(__file__).parents[1] / "worked_examples" / "change_over_points.json").read_text(encoding="utf-8")
)
GIVEN = ("load", "indication", "added", "e", "error_at_zero")


@pytest.mark.parametrize("case", EXAMPLE["cases"], ids=lambda c: c["id"])
def test_an_error_is_the_one_of_the_example(case: dict[str, Any]) -> None:
    """OIML R 76-1:2006 A.4.4.3."""
    found = change_over(*(Decimal(case[name]) for name in GIVEN))

    assert [found.before_rounding, found.error, found.corrected_error] == [
        Decimal(case[name]) for name in ("before_rounding", "error", "corrected_error")
    ]
    for tolerance, verdict in case.get("tolerances", {}).items():
        assert decide(found.corrected_error, Decimal(tolerance), Decimal(0), SIMPLE_ACCEPTANCE) == verdict


@given(st.integers(0, 100), st.integers(-5000, 5000))
def test_what_a_display_rounded_away_comes_back_exactly(tenths: int, true_in_tenths: int) -> None:
    """A scale that shows the nearest e, with weights of 0.1 e added until it turns: within 0.1 e of what it feels."""
    e, step = Decimal(1), Decimal("0.1")
    felt = Decimal(true_in_tenths) * step + Decimal(tenths) / 1000
    shown = (felt + e / 2).__floor__()
    added = next(n * step for n in range(20) if (felt + n * step + e / 2).__floor__() > shown)

    found = change_over(Decimal(0), Decimal(shown), added, e)

    assert 0 <= felt - found.error < step


@pytest.mark.parametrize("added", ["-0.001", "0.101"])
def test_weights_that_cannot_have_raised_it_by_one_e_are_refused(added: str) -> None:
    with pytest.raises(NoChangeOver, match="from 0 to e"):
        change_over(Decimal(100), Decimal(100), Decimal(added), Decimal("0.1"))
