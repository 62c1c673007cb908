"""Whether a certificate puts a weight in its class, guarded by U."""

import json
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from api.metrology.certified_class import certified_class, class_shown
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
        case["class"], nominal, 2 * nominal.kg - value if mirrored else value, Decimal(case["U_kg"]),
        Decimal(case.get("k", "2")),
    )  # fmt: skip

    assert (found.uncertainty_fits, found.value_fits) == (case["uncertainty_fits"], case["value_fits"])
    assert found.in_class is (case["uncertainty_fits"] and case["value_fits"])


@pytest.mark.parametrize("case", EXAMPLE["class_shown"], ids=lambda c: c["id"])
def test_the_class_that_a_certificate_shows_is_the_finest_of_its_document(case: dict[str, Any]) -> None:
    """OIML R 111-1:2004 Table 1, 5.2 and 5.3."""
    nominal = mass(case["nominal"]["value"], case["nominal"]["unit"])

    assert class_shown(case["class"], nominal, Decimal(case["value_kg"]), Decimal(case["U_kg"])) == case["shown"]


def test_a_u_of_another_factor_is_taken_upward_where_it_does_not_end() -> None:
    found = certified_class("M1", mass("20", "kg"), Decimal(20), Decimal("0.0001"), Decimal("2.1"))

    assert found.expanded_kg == Decimal("0.000095238096")  # 0.0002 / 2.1 = 0.0000952380952...


def test_the_limits_that_were_asked_are_told() -> None:
    found = certified_class("M1", mass("20", "kg"), Decimal("20.0003"), Decimal("0.0003"))

    assert found.largest_deviation_kg == Decimal("0.0007")
    assert found.largest_uncertainty_kg == Decimal("0.0003333333")


def test_a_nominal_value_without_a_row_is_refused() -> None:
    with pytest.raises(NoTableValue, match="Nothing is interpolated"):
        certified_class("M1", mass("25", "kg"), Decimal(25), Decimal("0.0003"))
