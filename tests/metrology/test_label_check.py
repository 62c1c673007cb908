"""Labels against the two schemes: the developers' cases (a) to (h), and one label for each finding."""

import json
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from api.metrology.class_parameters import HB44_TABLE_3, R76_TABLE_3
from api.metrology.label_check import below_least_load, label_findings, least_in_e
from api.metrology.scale import Range, Scale

EXAMPLES = Path(__file__).parents[1] / "worked_examples"
EXAMPLE: dict[str, Any] = json.loads((EXAMPLES / "label_checks.json").read_text(encoding="utf-8"))
MISPRINTS: dict[str, Any] = json.loads((EXAMPLES / "table_misprints.json").read_text(encoding="utf-8"))


def a_range(unit: str, sizes: list[str], marked: str | None = None) -> Range:
    largest, d, e = map(Decimal, sizes)
    return Range(unit, largest, d, e, None if marked is None else Decimal(marked))


def a_scale(case: dict[str, Any], arrangement: Any = None) -> Scale:
    ranges = tuple(a_range(case["unit"], sizes[:3], *sizes[3:]) for sizes in case["ranges"])
    several = "multi-interval" if len(ranges) > 1 else "single"
    return Scale("stand-on", case["class"], arrangement or several, ranges)


@pytest.mark.parametrize("scheme", ["hb44", "r76"])
@pytest.mark.parametrize("case", EXAMPLE["cases"], ids=lambda c: c["id"])
def test_a_label_has_the_findings_of_the_example(case: dict[str, Any], scheme: Any) -> None:
    """NIST HB 44 section 2.20 Table 3; OIML R 76-1:2006 Tables 3 and 4."""
    found = label_findings(a_scale(case), scheme)

    assert [f.code for f in found] == case[scheme]
    assert all(f.source and f.facts and f.sentence.endswith(".") for f in found)


@pytest.mark.parametrize("case", EXAMPLE["min"], ids=lambda c: c["id"])
def test_a_load_below_min_is_said_and_none_at_it(case: dict[str, Any]) -> None:
    """OIML R 76-1:2006 Table 3."""
    found = below_least_load(case["class"], a_range(case["unit"], case["range"]), Decimal(case["load_kg"]))

    assert (found is not None) is case["below"]


@pytest.mark.parametrize("case", MISPRINTS["r76_min"], ids=lambda c: c["id"])
def test_the_least_load_is_not_the_misprinted_one(case: dict[str, Any]) -> None:
    """OIML R 76-1:2006 Table 3; the French decree has 50 e."""
    found = least_in_e(case["accuracy_class"], a_range("g", ["6000", case["e_g"], case["e_g"]]))

    assert found == case["right_in_e"] != case["misprinted_in_e"]


@pytest.mark.parametrize("case", MISPRINTS["r76_class_i_interval"], ids=lambda c: c["id"])
def test_class_i_has_no_largest_interval_whatever_a_copy_prints(case: dict[str, Any]) -> None:
    """OIML R 76-1:2006 Table 3: class I from e = 0.001 g, and at least 50 000 of them."""
    label = {"class": "I", "unit": "g", "ranges": [[case["max_g"], case["e_g"], case["e_g"]]]}

    assert [found.code for found in label_findings(a_scale(label), "r76")] == []


def test_a_marked_min_counts_before_that_of_the_table() -> None:
    marked = a_range("kg", ["300", "0.1", "0.1"], "10")

    found = below_least_load("III", marked, Decimal("9.9"))

    assert found is not None
    assert found.source == "Min as marked"
    assert "10 kg" in found.sentence


def test_every_range_of_a_multiple_range_scale_is_classified_on_its_own() -> None:
    """OIML R 76-1:2006 3.4: 60 kg by 0.5 kg holds too few, however many the next range holds."""
    case = {"class": "III", "unit": "kg", "ranges": [["60", "0.2", "0.2"], ["600", "0.5", "0.5"]]}

    as_ranges, as_parts = (label_findings(a_scale(case, how), "hb44") for how in ("multiple-range", "multi-interval"))

    assert [f.code for f in as_ranges] == ["too-few-intervals"]
    assert as_parts == ()


def test_each_displayed_unit_is_looked_at_by_itself() -> None:
    """300 kg by 0.1 kg is in order; 100 lb by 0.2 lb beside it holds 500, and 99 lb would be too few."""
    scale = Scale(
        "stand-on", "III", "single", (a_range("kg", ["300", "0.1", "0.1"]), a_range("[lb_av]", ["99", "0.2", "0.2"]))
    )

    found = label_findings(scale, "hb44")

    assert [(f.code, f.facts["n"]) for f in found] == [("too-few-intervals", "495")]


def test_the_published_tables_have_their_rows_and_corners() -> None:
    """HB 44 Table 3 with its U.S. rows, R 76-1 Table 3; the most of class IIII is where they differ."""
    assert (len(HB44_TABLE_3), len(R76_TABLE_3)) == (14, 6)
    assert (HB44_TABLE_3[0].n_min, R76_TABLE_3[0].n_min) == (50_000, 50_000)
    assert (HB44_TABLE_3[6].n_max, R76_TABLE_3[-1].n_max) == (1_200, 1_000)
