"""Creep: one load left alone, read at 0, 15 and 30 minutes, and over four hours where half an hour does not decide."""

import json
from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.metrology.judgement import JudgedTest, PhaseJudgement
from api.metrology.judging import judge
from api.metrology.readings import Reading
from api.metrology.scale import Scale
from api.metrology.terms import AccuracyClass, SchemeName
from api.metrology.verdict import WORST_FIRST
from tests.metrology.a_case import a_range, a_scale, codes_of
from tests.metrology.loads_placed import FINE, PLAIN, a_case, a_reading, a_submission, kg

CASES = json.loads((Path(__file__).parents[1] / "worked_examples" / "creep.json").read_text())["cases"]
Timed = Sequence[tuple[int | None, str]]


def left_alone(readings: Timed, load: str = "200.00") -> list[Reading]:
    return [a_reading("creep", load, shown, minutes=minutes) for minutes, shown in readings]


def phase_of(readings: list[Reading], scheme: SchemeName = "r76", scale: Scale = FINE) -> PhaseJudgement:
    numbered = [replace(reading, seq=number) for number, reading in enumerate(readings)]
    found = judge(a_case(a_submission(numbered, purpose="initial"), scheme, scale)).as_found
    assert found is not None
    return found


def creep_of(readings: list[Reading], scheme: SchemeName = "r76", scale: Scale = FINE) -> JudgedTest:
    return next(test for test in phase_of(readings, scheme, scale).tests if test.test == "creep")


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["name"])
def test_a_worked_example_gives_its_verdict(case: dict[str, Any]) -> None:
    test = creep_of(left_alone(case["readings"]))

    assert (test.verdict, test.measured_kg) == (case["verdict"], Decimal(case["largest"]))
    assert codes_of(test.reasons) == ([case["reason"]] if case["reason"] else [])


@pytest.mark.parametrize(
    "readings",
    [
        [(0, "200.00"), (30, "200.00")],
        [(0, "200.00"), (15, "200.00")],
        [(15, "200.00"), (30, "200.00")],
        [(None, "200.00"), (None, "200.00")],
        [(0, "200.00")],
    ],
)
def test_readings_without_the_three_moments_decide_nothing(readings: Timed) -> None:
    test = creep_of(left_alone(readings))

    assert (test.verdict, codes_of(test.reasons)) == ("undecided", ["creep-incomplete"])


def test_without_change_over_points_r76_cannot_see_creep_on_a_coarse_display() -> None:
    """d = e = 0.1 kg: a still display may hide up to 0.1 kg, twice the limit; HB 44 takes the display as it shows."""
    still = left_alone([(0, "200.0"), (15, "200.0"), (30, "200.0")], "200.0")

    assert codes_of(creep_of(still, "r76", PLAIN).reasons) == ["rounding-undecided"]
    assert creep_of(still, "hb44", PLAIN).verdict == "pass"


def test_change_over_points_show_creep_on_a_coarse_display() -> None:
    """Before rounding 200.00, 200.02, 200.03 kg: 0.03 <= 0.05 and 0.01 <= 0.02."""
    readings = [
        a_reading("creep", "200.0", "200.0", minutes=minutes, change_over_added=kg(added))
        for minutes, added in ((0, "0.05"), (15, "0.03"), (30, "0.02"))
    ]

    test = creep_of(readings, "r76", PLAIN)

    assert (test.verdict, test.measured_kg) == ("pass", Decimal("0.03"))


def test_the_load_of_a_creep_test_need_not_be_known() -> None:
    """Anything that stays where it is will do; its results are then not judged against a tolerance."""
    unknown = [
        Reading(1, "creep", kg(shown), load=kg("150"), minutes=minutes)
        for minutes, shown in ((0, "152.31"), (15, "152.32"), (30, "152.33"))
    ]

    phase = phase_of(unknown)

    assert {point.verdict for point in phase.points} == {"undecided"}
    assert creep_of(unknown).verdict == "pass"


def test_a_known_load_out_of_tolerance_fails_however_still_it_stands() -> None:
    assert creep_of(left_alone([(0, "200.20"), (15, "200.20"), (30, "200.20")])).verdict == "fail"


@pytest.mark.parametrize("accuracy_class", ["I", "IIIL"])
def test_a_class_without_a_creep_limit_is_undecided(accuracy_class: AccuracyClass) -> None:
    scale = a_scale([a_range(d="0.01", e="0.1")], accuracy_class=accuracy_class)

    test = creep_of(left_alone([(0, "200.00"), (15, "200.00"), (30, "200.00")]), "hb44", scale)

    assert (test.verdict, codes_of(test.reasons)) == ("undecided", ["no-table-value"])


@given(st.integers(-12, 12), st.integers(-12, 12), st.integers(0, 6))
def test_more_creep_is_never_a_better_verdict(quarter: int, half: int, more: int) -> None:
    def verdict_of(last: int) -> str:
        shown = [(0, "200.00"), (15, str(Decimal("200.00") + Decimal(quarter).scaleb(-2))),
                 (30, str(Decimal("200.00") + Decimal(quarter + last).scaleb(-2)))]  # fmt: skip
        return creep_of(left_alone(shown)).verdict

    away = more if half * quarter >= 0 and half >= 0 and quarter >= 0 else -more if half <= 0 and quarter <= 0 else 0

    assert WORST_FIRST.index(verdict_of(half + away)) <= WORST_FIRST.index(verdict_of(half))
