"""How far the readings support the verdict: never beyond what was really placed and passed."""

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

import pytest

from api.metrology.judgement import JudgedTest, PointJudgement, ProvenRange
from api.metrology.judging import judge
from api.metrology.proven_range import proven_range
from api.metrology.submission import Adjustment
from api.metrology.verdict import Verdict
from tests.metrology.loads_placed import a_case, a_reading, a_submission, increasing, kg, sound_readings


def a_point(load: str, verdict: Verdict = "pass", test: str = "increasing", unit: str = "kg") -> PointJudgement:
    reading = a_reading(test, load, load)
    reading = replace(reading, indication=replace(reading.indication, unit=unit))
    return PointJudgement(reading, Decimal(load), None, None, None, None, None, None, verdict)


def proven(
    *points: PointJudgement, least: str = "0", most: str | None = None, tests: Sequence[JudgedTest] = ()
) -> tuple[str, str] | None:
    found, _ = proven_range(points, tests, Decimal(least), Decimal(most) if most else None)
    return (f"{found.from_kg:f}", f"{found.to_kg:f}") if found else None


def words(*points: PointJudgement, least: str = "0", most: str | None = None) -> str:
    return proven_range(points, (), Decimal(least), Decimal(most) if most else None)[1]


def test_it_runs_from_the_lowest_to_the_highest_load_that_passed() -> None:
    points = a_point("200"), a_point("20"), a_point("100")

    assert proven(*points) == ("20", "200")
    assert words(*points) == "Proven from 20 to 200 kg."


def test_a_gap_cuts_it() -> None:
    assert proven(a_point("20"), a_point("50"), a_point("100", "fail"), a_point("150")) == ("20", "50")


@pytest.mark.parametrize("verdict", ["fail", "conditional fail", "undecided", "not tested"])
def test_what_did_not_pass_is_a_gap(verdict: Verdict) -> None:
    assert proven(a_point("20"), a_point("50", verdict), a_point("100")) == ("20", "20")


def test_a_conditional_pass_supports_its_load() -> None:
    assert proven(a_point("20"), a_point("50", "conditional pass")) == ("20", "50")


def test_a_load_that_did_not_pass_at_the_bottom_raises_the_lower_end() -> None:
    assert proven(a_point("20", "fail"), a_point("50"), a_point("100")) == ("50", "100")


def test_a_load_counts_by_the_worst_of_its_readings() -> None:
    points = a_point("20"), a_point("50"), a_point("100"), a_point("50", "fail", "decreasing")

    assert proven(*points) == ("20", "20")


def test_no_load_below_the_first_increasing_one_starts_it() -> None:
    assert proven(a_point("10", test="repeatability"), a_point("20"), a_point("50")) == ("20", "50")


def test_a_load_placed_by_another_test_carries_it_on() -> None:
    assert proven(a_point("20"), a_point("50"), a_point("100", test="repeatability")) == ("20", "100")


def test_a_corner_load_proves_nothing() -> None:
    assert proven(a_point("20"), a_point("100", test="eccentricity")) == ("20", "20")


def test_zero_is_no_load() -> None:
    assert proven(a_point("0"), a_point("20"), a_point("50")) == ("20", "50")


def test_it_never_reaches_below_min() -> None:
    assert proven(a_point("1"), a_point("50"), least="2") == ("2", "50")


def test_nothing_is_proven_where_all_that_passed_lies_below_min() -> None:
    points = a_point("0.5"), a_point("1")

    assert proven(*points, least="2") is None
    assert words(*points, least="2") == "No load is proven: the loads that passed lie below Min (2 kg)."


def test_nothing_is_proven_where_no_increasing_load_passed() -> None:
    assert proven(a_point("20", "fail"), a_point("100", test="repeatability")) is None
    assert words(a_point("20", "fail")) == "No load is proven: no increasing load passed."


def test_a_limit_from_the_span_caps_it_and_the_sentence_says_so() -> None:
    points = a_point("20"), a_point("100"), a_point("300")

    assert proven(*points, most="120") == ("20", "120")
    assert words(*points, most="120").endswith("(not above the load at which the span was adjusted).")


def test_a_limit_above_the_highest_load_placed_adds_nothing() -> None:
    assert proven(a_point("20"), a_point("100"), most="250") == ("20", "100")


def test_a_span_below_every_load_that_passed_proves_nothing_and_min_is_not_blamed() -> None:
    assert proven(a_point("50"), a_point("100"), most="20") is None
    assert "the span was adjusted at 20 kg" in words(a_point("50"), a_point("100"), most="20")


@pytest.mark.parametrize("name", ["zero", "eccentricity", "repeatability"])
@pytest.mark.parametrize("verdict", ["fail", "conditional fail", "undecided", "not tested"])
def test_a_required_test_that_speaks_for_every_load_takes_all_of_it_away(name: str, verdict: Verdict) -> None:
    test = JudgedTest(name, True, verdict, "")

    assert proven(a_point("20"), a_point("100"), tests=[test]) is None


def test_such_a_test_that_was_extra_takes_it_away_only_by_failing() -> None:
    failed, open_ = (JudgedTest("eccentricity", False, v, "") for v in ("fail", "undecided"))

    assert proven(a_point("20"), tests=[failed]) is None
    assert proven(a_point("20"), tests=[open_]) == ("20", "20")


def test_a_failed_load_leaves_what_lies_below_it() -> None:
    test = JudgedTest("increasing", True, "fail", "")

    assert proven(a_point("20"), a_point("100"), a_point("300", "fail"), tests=[test]) == ("20", "100")


def test_a_pass_in_pounds_proves_no_load_in_kilograms() -> None:
    pounds = a_point("250", unit="[lb_av]")

    assert proven(a_point("20"), a_point("100"), pounds) == ("20", "100")


def test_a_fail_in_pounds_is_a_gap_in_kilograms_too() -> None:
    pounds = a_point("100", "fail", unit="[lb_av]")

    assert proven(a_point("20"), a_point("100"), a_point("200"), pounds) == ("20", "20")


def left_after_span(at: str, heaviest_used: str | None = None) -> ProvenRange | None:
    span = Adjustment("span", kg(at), (at,))
    left = [a_reading("zero set", "0", "0.0"), *increasing("20.0", "100.0", "200.0", "300.0")]
    case = a_case(a_submission(sound_readings(), left, [span]))
    case = replace(case, heaviest_load_used_kg=Decimal(heaviest_used) if heaviest_used else None)
    judgement = judge(case).as_left
    assert judgement is not None
    return judgement.proven


# Half the capacity of 300 kg: common practice, no source.
@pytest.mark.parametrize(
    ("span_at", "heaviest_used", "up_to"),
    [
        ("300.0", None, "300"),
        ("150.0", None, "300"),
        ("149.9", None, "149.9"),
        ("100.0", None, "100"),
        ("100.0", "80", "100"),
        ("200.0", "180", "300"),
        ("200.0", "200", "300"),
        ("200.0", "220", "200"),
    ],
)
def test_a_span_below_half_capacity_or_below_the_heaviest_load_used_is_as_far_as_it_goes(
    span_at: str, heaviest_used: str | None, up_to: str
) -> None:
    reached = left_after_span(span_at, heaviest_used)

    assert reached == ProvenRange(Decimal(20), Decimal(up_to))


def test_what_was_found_is_not_limited_by_the_span_adjusted_afterwards() -> None:
    span = Adjustment("span", kg("60.0"), ("60.0",))

    judgement = judge(a_case(a_submission(sound_readings(), sound_readings(), [span])))

    assert judgement.as_found is not None
    assert judgement.as_found.proven == ProvenRange(Decimal(20), Decimal(300))
