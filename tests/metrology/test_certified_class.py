"""Whether a certificate puts a weight in its class, guarded by U."""

import json
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from api.metrology.certified_class import certified_class
from api.metrology.mass import mass
from api.metrology.refusals import NoTableValue

EXAMPLE: dict[str, Any] = json.loads(
    (Path(__file__).parents[1] / "worked_examples" / "certified_weights.json").read_text(encoding="utf-8")
)


@pytest.mark.parametrize("case", EXAMPLE["cases"], ids=lambda c: c["id"])
@pytest.mark.parametrize("mirrored", [False, True])
def test_a_certificate_fits_its_class_as_in_the_example(case: dict[str, Any], mirrored: bool) -> None:
    """OIML R 111-1:2004 5.2 and 5.3: as far below the nominal value as above."""
    nominal = mass(case["nominal"]["value"], case["nominal"]["unit"])
    value = Decimal(case["value_kg"])

    found = certified_class(
        case["class"], nominal, 2 * nominal.kg - value if mirrored else value, Decimal(case["U_kg"])
    )

    assert (found.uncertainty_fits, found.value_fits) == (case["uncertainty_fits"], case["value_fits"])
    assert found.in_class is (case["uncertainty_fits"] and case["value_fits"])


def test_the_limits_that_were_asked_are_told() -> None:
    found = certified_class("M1", mass("20", "kg"), Decimal("20.0003"), Decimal("0.0003"))

    assert found.largest_deviation_kg == Decimal("0.0007")
    assert found.largest_uncertainty_kg == Decimal("0.0003333333")


def test_a_nominal_value_without_a_row_is_refused() -> None:
    with pytest.raises(NoTableValue, match="Nothing is interpolated"):
        certified_class("M1", mass("25", "kg"), Decimal(25), Decimal("0.0003"))
