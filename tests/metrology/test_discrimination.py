"""Discrimination: 1.4 d, gently placed, must change what a digital scale shows.

OIML R 76-1:2006 3.8.2.2 and NIST HB 44 section 2.20 T.N.7.2 and N.1.5, from memory (high confidence); the two divisions
of HB 44 are also in Canada's specification SI/98-81.
"""

from decimal import Decimal

import pytest

from api.metrology.discrimination import judge_discrimination
from api.metrology.judging import judge
from api.metrology.mass import Mass
from api.metrology.readings import Reading
from api.metrology.scale import Range
from api.metrology.terms import SchemeName
from api.metrology.verdict import Verdict
from tests.metrology.loads_placed import PLAIN, a_case, a_reading, a_submission, kg, sound_readings

IN_USE = PLAIN.ranges[0]  # d = 0.1 kg, so 1.4 d = 0.14 kg
POUNDS = Range("[lb_av]", Decimal(600), Decimal("0.2"), Decimal("0.2"))


def a_change(shown: str, added: str | None = "0.14", before: str | None = "100.0") -> Reading:
    return a_reading(
        "discrimination", "100.0", shown, before=kg(before) if before else None, added=kg(added) if added else None
    )


@pytest.mark.parametrize(
    ("shown", "scheme", "verdict"),
    [
        ("100.2", "hb44", "pass"),
        ("100.3", "hb44", "pass"),
        ("100.1", "hb44", "undecided"),
        ("100.0", "hb44", "fail"),
        ("99.9", "hb44", "fail"),
        ("100.1", "r76", "pass"),
        ("100.2", "r76", "pass"),
        ("100.0", "r76", "fail"),
        ("100.1", "house", "pass"),
        ("100.0", "house", "fail"),
    ],
)
def test_hb44_asks_for_two_divisions_and_r76_for_a_clear_change(
    shown: str, scheme: SchemeName, verdict: Verdict
) -> None:
    assert judge_discrimination(a_change(shown), IN_USE, scheme)[0] == verdict


@pytest.mark.parametrize(("added", "verdict"), [("0.14", "pass"), ("0.10", "pass"), ("0.141", "undecided")])
def test_more_than_one_point_four_divisions_added_decides_nothing(added: str, verdict: Verdict) -> None:
    found, reasons = judge_discrimination(a_change("100.2", added), IN_USE, "hb44")

    assert found == verdict
    assert [reason.code for reason in reasons] == ([] if verdict == "pass" else ["too-much-added"])


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
    _, reasons = judge_discrimination(reading, IN_USE, "hb44")

    assert [reason.code for reason in reasons] == [code]


def test_in_pounds_it_counts_the_division_in_pounds() -> None:
    shown, before, added = (Mass(Decimal(text), "[lb_av]") for text in ("220.4", "220.0", "0.28"))
    reading = Reading(1, "discrimination", shown, pieces=("100.0",), before=before, added=added)

    assert judge_discrimination(reading, POUNDS, "hb44") == ("pass", [])


def test_in_a_visit_it_has_no_error_and_no_tolerance_of_its_own() -> None:
    found = judge(a_case(a_submission([*sound_readings(), a_change("100.2")]))).as_found

    assert found is not None
    point = found.points[-1]
    assert (point.verdict, point.error_kg, point.tolerance, point.budget) == ("pass", None, None, None)
    assert [(t.verdict, t.words) for t in found.tests if t.test == "discrimination"] == [
        ("pass", "1.4 d added at 100 kg")
    ]


def test_a_scale_that_does_not_answer_fails_the_phase_and_no_load_is_proven() -> None:
    found = judge(a_case(a_submission([*sound_readings(), a_change("100.0")]))).as_found

    assert found is not None
    assert (found.verdict, found.proven) == ("fail", None)
