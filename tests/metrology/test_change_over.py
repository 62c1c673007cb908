"""Change-over points: the rounding of the display is taken out before R 76 decides."""

import json
import math
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.metrology.change_over import ChangeOver, ZeroTaken, change_over, change_over_point, zero_before
from api.metrology.decision import SIMPLE_ACCEPTANCE, decide
from api.metrology.judgement import PhaseJudgement, PointJudgement
from api.metrology.judging import judge
from api.metrology.mass import mass
from api.metrology.readings import Reading
from api.metrology.refusals import NoChangeOver
from api.metrology.scale import Scale
from api.metrology.terms import Purpose, SchemeName
from api.metrology.terms import TestName as ReadingName
from tests.metrology.a_case import a_case, a_certificate, a_piece, a_range, a_scale, a_visit, codes_of

CASES = json.loads((Path(__file__).parents[1] / "worked_examples" / "r76_change_over.json").read_text())["cases"]
PIECE = {"W": a_piece("W", "100", certificate=a_certificate("100"))}
COARSE = a_scale([a_range()])


def taken(test: ReadingName, shown: str, added: str | None, pieces: tuple[str, ...] = (), unit: str = "kg") -> Reading:
    over = mass(added, unit) if added is not None else None
    return Reading(1, test, mass(shown, unit), pieces=pieces, change_over_added=over)


def phase_of(
    readings: list[Reading], purpose: Purpose = "initial", scale: Scale = COARSE, scheme_name: SchemeName = "r76",
    pieces: Any = PIECE,
) -> PhaseJudgement:  # fmt: skip
    visit = a_visit(readings, purpose=purpose)
    found = judge(a_case(visit, scale, pieces, scheme_name=scheme_name)).as_found
    assert found is not None
    return found


def point_of_example(case: dict[str, Any], purpose: Purpose) -> PointJudgement:
    piece = a_piece("W", case["load"], case["unit"])
    readings = [
        taken("zero set", case["zero_indication"], case["zero_added"], unit=case["unit"]),
        taken("increasing", case["indication"], case["added"], ("W",), case["unit"]),
    ]
    scale = a_scale([a_range(case["max"], case["e"], case["unit"])])
    return phase_of(readings, purpose, scale, pieces={"W": piece}).points[1]


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["name"])
def test_a_worked_example_gives_the_printed_errors_and_verdicts(case: dict[str, Any]) -> None:
    point = point_of_example(case, "initial")

    over = point.change_over
    assert over is not None
    assert over.before_rounding == Decimal(case["before_rounding_kg"])
    assert over.error == Decimal(case["error_kg"])
    assert over.error_at_zero == Decimal(case["zero_error_kg"])
    assert point.error_kg == Decimal(case["corrected_kg"])
    assert (point.verdict, point_of_example(case, "scheduled").verdict) == (case["initial"], case["in_service"])


def test_a_plain_reading_that_r76_cannot_decide_is_decided_by_its_change_over_point() -> None:
    plain = phase_of([taken("zero set", "0.0", None), taken("increasing", "100.1", None, ("W",))]).points[1]
    exact = phase_of([taken("zero set", "0.0", "0.05"), taken("increasing", "100.1", "0.08", ("W",))]).points[1]

    assert (plain.verdict, codes_of(plain.reasons)) == ("undecided", ["rounding-undecided"])
    assert "Change-over points, or a display in finer steps, would decide it" in plain.reasons[0].sentence
    assert (exact.verdict, codes_of(exact.reasons)) == ("pass", [])


def test_without_one_at_zero_half_a_division_is_still_hidden() -> None:
    """E = 0.06 kg, the tolerance 0.10 kg, and the display was within 0.05 kg of zero: 0.11 kg is still possible."""
    point = phase_of([taken("zero set", "0.0", None), taken("increasing", "100.1", "0.09", ("W",))]).points[1]

    assert point.error_kg == Decimal("0.06")
    assert (point.verdict, codes_of(point.reasons)) == ("undecided", ["rounding-undecided"])


def test_only_the_step_of_the_small_weights_is_left_in_the_budget() -> None:
    """0.1 of 0.1 kg, rectangular: 0.01 kg / sqrt 12 twice (EURAMET cg-18 v4.0 7.1.1, from memory, with R 76 A.4.4.3)."""
    both = phase_of([taken("zero set", "0.0", "0.05"), taken("increasing", "100.1", "0.08", ("W",))]).points[1]
    one = phase_of([taken("increasing", "100.1", "0.08", ("W",))]).points[0]

    assert both.budget is not None
    assert one.budget is not None
    sizes = {c.name: c.standard_uncertainty for c in both.budget.contributions}
    assert sizes["change-over at zero"] == pytest.approx(0.01 / math.sqrt(12))
    assert sizes["change-over at load"] == pytest.approx(0.01 / math.sqrt(12))
    assert [c.name for c in one.budget.contributions][:2] == ["rounding at zero", "change-over at load"]
    assert both.budget.combined < one.budget.combined


def test_the_half_step_is_that_of_the_range_where_the_next_value_is_shown() -> None:
    """Max 2/5 kg, e 1/2 g: at 2 kg shown, the next value is shown in steps of 2 g (R 76-1 A.4.4.3, from memory)."""
    scale = a_scale([a_range("2000", "1", "g"), a_range("5000", "2", "g")], arrangement="multi-interval")
    pieces = {"W": a_piece("W", "2000", "g")}

    point = phase_of([taken("increasing", "2000", "0.5", ("W",), "g")], scale=scale, pieces=pieces).points[0]

    assert point.error_kg == Decimal("0.0005")


def test_ranges_are_compared_before_rounding() -> None:
    """Shown alike, but 0.16 kg apart: above the 0.1 kg that R 76-1 3.6.1 allows at 100 kg at first verification."""
    repeated = [taken("repeatability", shown, added, ("W",)) for shown, added in
                (("100.0", "0.09"), ("100.0", "0.05"), ("100.1", "0.03"))]  # fmt: skip

    test = next(t for t in phase_of([taken("zero set", "0.0", "0.05"), *repeated]).tests if t.test == "repeatability")

    assert (test.measured_kg, test.limit_kg, test.verdict) == (Decimal("0.16"), Decimal("0.1"), "fail")


def test_the_standard_deviation_is_that_of_the_values_before_rounding() -> None:
    """99.96, 100.00 and 100.04 kg, all shown as 100.0 kg: s = 0.04 kg."""
    repeated = [taken("repeatability", "100.0", added, ("W",)) for added in ("0.09", "0.05", "0.01")]

    budget = phase_of(repeated).points[0].budget

    assert budget is not None
    s = next(c.standard_uncertainty for c in budget.contributions if c.name == "repeatability")
    assert s == pytest.approx(0.04)


@pytest.mark.parametrize("added", ["-0.01", "0.11"])
def test_more_than_a_step_added_is_no_change_over_point(added: str) -> None:
    with pytest.raises(NoChangeOver):
        change_over_point(Decimal("100"), Decimal("0.1"), Decimal(added))

    point = phase_of([taken("increasing", "100.0", added, ("W",))]).points[0]
    assert (point.verdict, codes_of(point.reasons)) == ("undecided", ["no-change-over"])


def test_a_bad_change_over_point_at_zero_corrects_nothing() -> None:
    readings = [taken("zero set", "0.0", "0.3"), taken("increasing", "100.0", "0.05", ("W",))]

    zero, loaded = phase_of(readings, scheme_name="hb44").points

    assert codes_of(zero.reasons) == ["no-change-over"]
    assert loaded.change_over == ChangeOver(Decimal("100.00"), Decimal("0.00"))


def test_the_zero_that_holds_is_the_last_one_before_the_reading() -> None:
    zeros = [ZeroTaken(seq, Decimal(0), Decimal(seq)) for seq in (4, 1, 9)]

    held = [zero_before(seq, zeros) for seq in (0, 2, 5, 20)]

    assert [zero.seq for zero in held if zero] == [1, 1, 4, 9]
    assert zero_before(3, []) is None


def test_the_same_indication_with_another_addition_is_another_point() -> None:
    readings = [taken("increasing", "100.1", added, ("W",)) for added in ("0.08", "0.02")]

    errors = [point.error_kg for point in phase_of([replace(r) for r in readings]).points]

    assert errors == [Decimal("0.07"), Decimal("0.13")]


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
    with pytest.raises(NoChangeOver, match="from 0 to one step"):
        change_over(Decimal(100), Decimal(100), Decimal(added), Decimal("0.1"))
