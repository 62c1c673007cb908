"""Discrimination: 1.4 d, gently placed, must change what a digital scale shows.

OIML R 76-1:2006 3.8.2.2 and NIST HB 44 section 2.20 T.N.7.2 and N.1.5, from memory (high confidence); the two divisions
of HB 44 are also in Canada's specification SI/98-81.
"""

import json
from collections.abc import Sequence
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from api.metrology.discrimination import change_of, judge_discrimination
from api.metrology.judgement import Flag, JudgedTest
from api.metrology.judging import judge
from api.metrology.mass import Mass
from api.metrology.readings import Reading
from api.metrology.scale import Range
from api.metrology.terms import SchemeName
from api.metrology.verdict import Verdict
from tests.metrology.loads_placed import PLAIN, a_case, a_reading, a_submission, kg, sound_readings

EXAMPLE: dict[str, Any] = json.loads(
    (Path(__file__).parents[1] / "worked_examples" / "discrimination.json").read_text(encoding="utf-8")
)
IN_USE = PLAIN.ranges[0]  # d = 0.1 kg, so 1.4 d = 0.14 kg
POUNDS = Range("[lb_av]", Decimal(600), Decimal("0.2"), Decimal("0.2"))


def a_change(shown: str, added: str | None = "0.14", before: str | None = "100.0") -> Reading:
    return a_reading(
        "discrimination", "100.0", shown, before=kg(before) if before else None, added=kg(added) if added else None
    )


def judged(reading: Reading, in_use: Range = IN_USE, scheme: SchemeName = "hb44") -> tuple[Verdict, Sequence[Flag]]:
    return judge_discrimination(change_of(reading, in_use, scheme))


@pytest.mark.parametrize("case", EXAMPLE["changes"], ids=lambda c: f"{c['shown']} {c['scheme']}")
def test_hb44_asks_for_two_divisions_and_r76_for_a_clear_change(case: dict[str, Any]) -> None:
    assert judged(a_change(case["shown"]), IN_USE, case["scheme"])[0] == case["verdict"]


@pytest.mark.parametrize("case", EXAMPLE["added"], ids=lambda c: c["added"])
def test_more_than_one_point_four_divisions_added_decides_nothing(case: dict[str, Any]) -> None:
    found, reasons = judged(a_change("100.2", case["added"]))

    assert found == case["verdict"]
    assert [reason.code for reason in reasons] == ([] if found == "pass" else ["too-much-added"])


@pytest.mark.parametrize(
    ("reading", "code"),
    [
        (a_change("100.2", added=None), "no-change-recorded"),
        (a_change("100.2", before=None), "no-change-recorded"),
        (a_change("100.1"), "one-division"),
        (a_change("100.0"), "no-change"),
    ],
)
def test_what_is_not_plain_says_why(reading: Reading, code: str) -> None:
    _, reasons = judged(reading)

    assert [reason.code for reason in reasons] == [code]


def test_in_pounds_it_counts_the_division_in_pounds() -> None:
    shown, before, added = (Mass(Decimal(text), "[lb_av]") for text in ("220.4", "220.0", "0.28"))
    reading = Reading(1, "discrimination", shown, pieces=("100.0",), before=before, added=added)

    assert judged(reading, POUNDS) == ("pass", [])


def test_in_a_visit_it_has_no_error_and_no_tolerance_of_its_own() -> None:
    found = judge(a_case(a_submission([*sound_readings(), a_change("100.2")]))).as_found

    assert found is not None
    point = found.points[-1]
    assert (point.verdict, point.error_kg, point.tolerance, point.budget) == ("pass", None, None, None)
    assert [(t.verdict, t.words) for t in found.tests if t.test == "discrimination"] == [
        ("pass", "1.4 d added at 100 kg; smallest change")
    ]


def test_the_point_carries_what_was_added_what_changed_and_what_had_to() -> None:
    found = judge(a_case(a_submission([*sound_readings(), a_change("100.3")]))).as_found

    assert found is not None
    change = found.points[-1].change
    assert change is not None
    assert (found.points[-1].nominal_kg, change.before, change.added) == (Decimal("100.0"), kg("100.0"), kg("0.14"))
    assert (change.most_added_kg, change.seen_kg, change.required_kg) == (
        Decimal("0.14"), Decimal("0.3"), Decimal("0.2"),
    )  # fmt: skip


@pytest.mark.parametrize(
    ("scheme", "required", "source"),
    [
        ("hb44", "0.2", "NIST HB 44 section 2.20 T.N.7.2"),
        ("r76", "0.1", "OIML R 76-1:2006 3.8.2.2"),
        ("house", "0.1", "a house tolerance has no rule of its own"),
    ],
)
def test_the_change_required_comes_with_the_source_of_its_rule(scheme: SchemeName, required: str, source: str) -> None:
    change = change_of(a_change("100.1"), IN_USE, scheme)

    assert change.required_kg == Decimal(required)
    assert change.source.startswith(source)


def discrimination(*readings: Reading) -> JudgedTest:
    found = judge(a_case(a_submission([*sound_readings(), *readings]))).as_found
    assert found is not None
    return next(t for t in found.tests if t.test == "discrimination")


def test_the_test_measures_the_smallest_change_against_the_least_one_required() -> None:
    test = discrimination(a_change("100.3"), a_change("100.2"))

    assert (test.verdict, test.measured_kg, test.limit_kg) == ("pass", Decimal("0.2"), Decimal("0.2"))
    assert test.limit_is == "at least"
    assert "T.N.7.2" in test.limit_source


def test_of_several_changes_the_one_that_decides_the_verdict_is_measured() -> None:
    # too much was added for the smallest change to count; the other one did not move at all
    test = discrimination(a_change("99.9", added="0.2"), a_change("100.0"))

    assert (test.verdict, test.measured_kg) == ("fail", Decimal("0.0"))


def test_a_change_that_was_not_recorded_is_not_measured_but_its_limit_is_told() -> None:
    test = discrimination(a_change("100.2", before=None))

    assert (test.verdict, test.measured_kg, test.limit_kg) == ("undecided", None, Decimal("0.2"))


def test_a_scale_that_does_not_answer_fails_the_phase_and_no_load_is_proven() -> None:
    found = judge(a_case(a_submission([*sound_readings(), a_change("100.0")]))).as_found

    assert found is not None
    assert (found.verdict, found.proven) == ("fail", None)
