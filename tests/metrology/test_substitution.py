"""HB 44 2.20 N.3 Table 4, worked for the capacities of patient scales, and the exchanges that ballast makes possible."""

import json
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from api.metrology.mass import in_kilograms
from api.metrology.substitution import MOST_SUBSTITUTIONS, minimum_test, r76_share, substitutions
from tests.metrology.a_case import a_range, a_scale

EXAMPLE: dict[str, Any] = json.loads(
    (Path(__file__).parents[1] / "worked_examples" / "hb44_table_4.json").read_text(encoding="utf-8")
)


@pytest.mark.parametrize("case", EXAMPLE["cases"], ids=lambda c: f"{c['capacity']} {c['unit']}")
def test_table_4_gives_weights_and_load(case: dict[str, str]) -> None:
    """Figures worked by hand from NIST HB 44 2.20 N.3 Table 4: the greater of a share of capacity and a fixed mass."""
    unit = case["unit"]

    least = minimum_test(a_scale([a_range(case["capacity"], "0.1", unit)]), unit)

    assert least.weights_kg == in_kilograms(Decimal(case["weights"]), unit)
    assert least.load_kg == in_kilograms(Decimal(case["load"]), unit)


@pytest.mark.parametrize(("repeatability", "share"), [(None, "0.5"), ("0.4", "0.5"), ("0.3", "0.334"), ("0.2", "0.2")])
def test_r_76_asks_for_less_weight_of_a_scale_that_repeats_well(repeatability: str | None, share: str) -> None:
    """OIML R 76-1:2006 3.7.3, from memory: 1/2, 1/3 at 0.3 e, 1/5 at 0.2 e."""
    assert r76_share(Decimal(repeatability) if repeatability else None) == Decimal(share)


def test_exchanges_end_at_the_top_load_or_after_three() -> None:
    assert [s.reaches_kg for s in substitutions(Decimal(100), Decimal(250))] == [200, 250]
    assert len(substitutions(Decimal(20), Decimal(300))) == MOST_SUBSTITUTIONS
    assert substitutions(Decimal(300), Decimal(300)) == ()
