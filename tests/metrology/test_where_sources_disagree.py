"""Where documents of the trade give different rules: each scheme keeps its own, and none takes a third one's."""

import json
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from api.metrology.label_check import label_findings
from api.metrology.tolerance import scheme, tolerance_at
from tests.metrology.a_case import a_range, codes_of
from tests.metrology.loads_placed import FINE
from tests.metrology.test_creep import creep_of, left_alone
from tests.metrology.test_eccentricity import corners, judged
from tests.metrology.test_label_check import a_scale

EXAMPLE: dict[str, Any] = json.loads(
    (Path(__file__).parents[1] / "worked_examples" / "where_sources_disagree.json").read_text(encoding="utf-8")
)


@pytest.mark.parametrize("case", EXAMPLE["n_max_class_iiii"], ids=lambda c: str(c["intervals"]))
@pytest.mark.parametrize("name", ["hb44", "r76"])
def test_the_most_intervals_of_class_iiii_are_each_scheme_s_own(case: dict[str, Any], name: Any) -> None:
    """NIST HB 44 Table 3: 1 200; OIML R 76-1:2006 Table 3: 1 000."""
    label = {"class": "IIII", "unit": "kg", "ranges": [[str(case["intervals"]), "1", "1"]]}

    found = [finding.code for finding in label_findings(a_scale(label), name)]

    assert found == ([] if case[name] else ["too-many-intervals"])


@pytest.mark.parametrize("named", EXAMPLE["above_4000_e_class_iii"]["in_e"])
def test_above_4000_intervals_the_schemes_part(named: str) -> None:
    """HB 44 Table 6 has a fourth step above 4 000; R 76 Table 6 ends with its third."""
    case = EXAMPLE["above_4000_e_class_iii"]
    name, stage = named.split()

    found = tolerance_at(scheme(name, stage), "III", a_range("10000", "1"), Decimal(case["load_in_e"]))

    assert found.kg == Decimal(case["in_e"][named])


@pytest.mark.parametrize("case", EXAMPLE["class_iii_l"], ids=lambda c: c["load_in_e"])
def test_class_iii_l_grows_by_500_intervals_and_not_by_canada_s_800(case: dict[str, str]) -> None:
    """NIST HB 44 Table 6, class III L: one d more for each 500 d begun."""
    found = tolerance_at(scheme("hb44", "maintenance"), "IIIL", a_range("20000", "1"), Decimal(case["load_in_e"]))

    assert found.kg == Decimal(case["hb44_in_e"])
    assert Decimal(case["load_in_e"]) <= 1000 or case["hb44_in_e"] != case["canada_iii_hd_in_e"]


@pytest.mark.parametrize("name", ["hb44", "r76"])
def test_creep_is_decided_after_thirty_minutes_and_not_after_an_hour(name: Any) -> None:
    """OIML R 76-1:2006 3.9.4.1, NIST HB 44 T.N.4.5.1; an older Canadian text waits an hour."""
    case = EXAMPLE["creep"]
    readings = [(0, "200.00"), (15, "200.00"), (case["decided_after_min"], "200.00")]

    in_time, late = (
        creep_of(left_alone(timed), name, FINE)
        for timed in (readings, [*readings[:2], (case["not_after_min"], "200.00")])
    )

    assert in_time.verdict == "pass"
    assert late.verdict == "undecided"


def test_a_shift_test_is_at_a_third_of_capacity_and_no_more_at_half() -> None:
    """NIST HB 44 section 2.20 N.1.3."""
    case = EXAMPLE["shift_load"]

    now, before = (judged(corners(load, *[load] * 4), "hb44")[0] for load in (case["now"], case["before_2003"]))

    assert codes_of(now.reasons) == []
    assert codes_of(before.reasons) == ["eccentric-load-heavy"]
