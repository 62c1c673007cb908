"""The tests of a phase: each by its own rule, and the worst of the required ones."""

from dataclasses import replace

import pytest

from api.metrology.judgement import JudgedTest, PhaseJudgement
from api.metrology.judging import judge
from api.metrology.mass import Mass
from api.metrology.policy import STARTING
from api.metrology.readings import Reading
from api.metrology.scale import Scale
from api.metrology.submission import Adjustment
from api.metrology.terms import SchemeName
from api.metrology.trials import verdict_of
from api.metrology.verdict import Verdict
from tests.metrology.loads_placed import (
    FINE,
    PLAIN,
    a_case,
    a_reading,
    a_submission,
    corners,
    increasing,
    kg,
    repeated,
    sound_readings,
)


def judged(readings: list[Reading], scheme: SchemeName = "hb44", scale: Scale = PLAIN) -> PhaseJudgement:
    found = judge(a_case(a_submission(readings), scheme, scale)).as_found
    assert found is not None
    return found


def judged_test(phase: PhaseJudgement | None, name: str) -> JudgedTest:
    assert phase is not None
    return next(test for test in phase.tests if test.test == name)


def without(readings: list[Reading], *tests: str) -> list[Reading]:
    return [reading for reading in readings if reading.test not in tests]


def test_a_phase_with_every_required_test_passed_passes() -> None:
    phase = judged(sound_readings())

    assert phase.verdict == "pass"
    assert [(test.test, test.verdict) for test in phase.tests] == [
        ("zero", "pass"), ("increasing", "pass"), ("eccentricity", "pass"), ("repeatability", "pass"),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("zero", ("zero set",)),
        ("increasing", ("increasing",)),
        ("eccentricity", ("eccentricity",)),
        ("repeatability", ("repeatability",)),
    ],
)
def test_a_missing_required_test_leaves_the_phase_undecided(name: str, words: tuple[str, ...]) -> None:
    phase = judged(without(sound_readings(), *words))

    missing = judged_test(phase, name)
    assert (missing.verdict, missing.required, [r.code for r in missing.reasons]) == (
        "not tested", True, ["test-missing"],
    )  # fmt: skip
    assert phase.verdict == "undecided"
    assert f"The policy requires {name}; it was not done." in phase.reasons


def test_a_missing_test_does_not_soften_a_fail() -> None:
    readings = without(sound_readings(), "repeatability", "increasing")

    phase = judged([*readings, *increasing("200.0", off_by="5.0")])

    assert phase.verdict == "fail"


def test_an_extra_test_that_failed_counts() -> None:
    phase = judged([*sound_readings(), a_reading("decreasing", "200.0", "203.0")])

    extra = judged_test(phase, "decreasing")
    assert (extra.required, extra.verdict, phase.verdict) == (False, "fail", "fail")


def test_an_extra_test_that_decides_nothing_does_not_count() -> None:
    undecided = a_reading("discrimination", "100.0", "100.0", before=None, added=None)

    phase = judged([*sound_readings(), undecided])

    assert (judged_test(phase, "discrimination").verdict, phase.verdict) == ("undecided", "pass")


@pytest.mark.parametrize(
    ("required", "extra", "verdict"),
    [
        (("pass", "conditional pass"), (), "conditional pass"),
        (("conditional pass", "undecided"), (), "undecided"),
        (("pass", "not tested"), (), "undecided"),
        (("not tested", "conditional fail"), (), "conditional fail"),
        (("conditional fail", "fail"), (), "fail"),
        (("pass",), ("conditional fail",), "conditional fail"),
        (("pass",), ("conditional pass",), "pass"),
        (("pass",), ("undecided", "not tested"), "pass"),
        ((), (), "not tested"),
    ],
)
def test_the_phase_is_the_worst_of_the_required_tests(
    required: tuple[Verdict, ...], extra: tuple[Verdict, ...], verdict: Verdict
) -> None:
    tests = [JudgedTest("t", True, v, "") for v in required] + [JudgedTest("t", False, v, "") for v in extra]

    assert verdict_of(tests) == verdict


def test_the_tests_stand_in_the_order_of_the_trade_whatever_the_order_taken() -> None:
    more = [a_reading("decreasing", "100.0", "100.0"), a_reading("first loading", "300.0", "300.0")]

    phase = judged([*reversed(sound_readings()), *more])

    assert [test.test for test in phase.tests] == [
        "zero", "first loading", "increasing", "decreasing", "eccentricity", "repeatability",
    ]  # fmt: skip


def test_zero_is_judged_after_the_zero_key_and_what_was_found_is_told() -> None:
    phase = judged([a_reading("zero found", "0", "0.4"), *sound_readings()])

    zero = judged_test(phase, "zero")
    assert (zero.verdict, zero.measured_kg, zero.words) == (
        "pass",
        0,
        "found untouched at 0.4 kg; error after the zero key",
    )


def test_zero_found_is_judged_where_nobody_pressed_the_key() -> None:
    phase = judged([a_reading("zero found", "0", "0.4"), *without(sound_readings(), "zero set")])

    zero = judged_test(phase, "zero")
    assert (zero.verdict, zero.measured_kg, zero.limit_kg) == ("fail", kg("0.4").kg, kg("0.1").kg)


def test_a_test_tells_its_loads_and_its_largest_error() -> None:
    phase = judged([*without(sound_readings(), "increasing"), *increasing("50.0", "250.0", off_by="-0.1")])

    ups = judged_test(phase, "increasing")
    assert (ups.words, ups.measured_kg) == ("2 loads, 50 to 250 kg; largest error", kg("0.1").kg)


def test_a_sling_needs_no_corners() -> None:
    # A suspended load has no corners: the starting policy's own exemption.
    sling = replace(PLAIN, kind="sling")

    phase = judged(without(sound_readings(), "eccentricity"), scale=sling)

    assert (phase.verdict, [t.test for t in phase.tests]) == ("pass", ["zero", "increasing", "repeatability"])


@pytest.mark.parametrize("scheme", ["hb44", "r76"])
def test_a_class_without_a_table_leaves_every_test_undecided_and_raises_nothing(scheme: SchemeName) -> None:
    phase = judged(sound_readings(), scheme, replace(PLAIN, accuracy_class="none"))

    assert {test.verdict for test in phase.tests} == {"undecided"}
    assert "no-table-value" in {reason.code for test in phase.tests for reason in test.reasons}


SPAN = Adjustment("span", kg("300.0"), ("300.0",))
SHORT = [a_reading("zero set", "0", "0.0"), *increasing("20.0", "100.0", "200.0", "300.0")]


def test_as_left_leans_on_the_corners_and_repeats_that_passed_as_found() -> None:
    found = [*without(sound_readings(), "increasing"), *increasing("20.0", "300.0", off_by="1.0")]

    judgement = judge(a_case(a_submission(found, SHORT, [SPAN])))

    assert (judgement.verdict_as_found, judgement.verdict_as_left) == ("fail", "pass")


def test_what_did_not_pass_as_found_is_repeated_as_left() -> None:
    uneven = [*without(sound_readings(), "eccentricity"), *corners("100.0", "100.0", "101.0", "100.0", "100.0")]

    judgement = judge(a_case(a_submission(uneven, SHORT, [SPAN])))

    assert judged_test(judgement.as_left, "eccentricity").verdict == "not tested"
    assert judgement.verdict_as_left == "undecided"


def test_an_extra_test_that_failed_as_found_is_repeated_as_left() -> None:
    found = [*sound_readings(), a_reading("decreasing", "200.0", "203.0")]
    again = a_reading("decreasing", "200.0", "200.0")

    without_it = judge(a_case(a_submission(found, SHORT, [SPAN])))
    with_it = judge(a_case(a_submission(found, [*SHORT, again], [SPAN])))

    assert (without_it.verdict_as_left, with_it.verdict_as_left) == ("undecided", "pass")


def test_a_first_loading_that_failed_is_not_asked_for_again() -> None:
    found = [a_reading("first loading", "300.0", "303.0"), *sound_readings()]

    judgement = judge(a_case(a_submission(found, SHORT, [SPAN])))

    assert (judgement.verdict_as_found, judgement.verdict_as_left) == ("fail", "pass")


@pytest.mark.parametrize(
    ("purpose", "adjustments"),
    [("after repair", [SPAN]), ("scheduled", [Adjustment("repair part"), SPAN]), ("scheduled", [Adjustment("corner")])],
)
def test_after_a_repair_or_corner_work_every_required_test_is_repeated(
    purpose: str, adjustments: list[Adjustment]
) -> None:
    short = judge(a_case(a_submission(sound_readings(), SHORT, adjustments, purpose=purpose)))
    full = judge(a_case(a_submission(sound_readings(), sound_readings(), adjustments, purpose=purpose)))

    assert [t.test for t in short.as_left.tests if t.verdict == "not tested"] == [
        "eccentricity", "repeatability",
    ]  # fmt: skip
    assert (short.verdict_as_left, full.verdict_as_left) == ("undecided", "pass")


def test_as_left_without_an_as_found_needs_the_full_list() -> None:
    judgement = judge(a_case(a_submission(None, SHORT, [SPAN])))

    assert judgement.verdict_as_left == "undecided"
    assert "as-found-missing" in {flag.code for flag in judgement.flags}


def test_the_required_tests_are_the_policys() -> None:
    strict = replace(STARTING, required_as_found=("zero", "increasing", "decreasing"))

    phase = judge(a_case(a_submission(sound_readings()), policy=strict)).as_found

    assert judged_test(phase, "decreasing").verdict == "not tested"
    assert judged_test(phase, "repeatability").required is False
    assert phase is not None
    assert phase.verdict == "undecided"


def test_an_excluded_reading_is_kept_and_not_judged() -> None:
    bumped = a_reading("increasing", "200.0", "212.0", excluded="somebody leaned on it")

    phase = judged([*sound_readings(), bumped])

    assert phase.verdict == "pass"
    assert all(point.reading.excluded is None for point in phase.points)


def test_corners_at_different_loads_are_not_compared_with_each_other() -> None:
    # A chair: the seat carries one load, the armrests a lighter one. Their difference is no eccentricity.
    seat = corners("100.0", "100.0", "100.0", "100.0", "100.0")
    rests = [
        a_reading("eccentricity", "20.0", "20.0", position="left armrest"),
        a_reading("eccentricity", "20.0", "20.1", position="right armrest"),
    ]

    phase = judged([*without(sound_readings(), "eccentricity"), *seat, *rests])

    assert judged_test(phase, "eccentricity").verdict == "pass"


def test_two_repeated_loads_are_judged_by_the_worse_set() -> None:
    phase = judged([*sound_readings(), *repeated("100.0", "99.8", "100.0", "100.2")])

    worse = judged_test(phase, "repeatability")
    assert (worse.verdict, worse.measured_kg, worse.limit_kg) == ("fail", kg("0.4").kg, kg("0.2").kg)
    assert worse.words.split("; ", 1)[1] == "3 weighings of 200 kg and 3 weighings of 100 kg; range"


def test_every_load_of_a_test_keeps_its_own_range_limit_and_verdict() -> None:
    phase = judged([*sound_readings(), *repeated("100.0", "99.8", "100.0", "100.2")])

    loads = judged_test(phase, "repeatability").loads
    assert [(x.nominal_kg, x.results, x.smallest_kg, x.largest_kg, x.limit_kg, x.verdict) for x in loads] == [
        (kg("200.0").kg, 3, kg("200.0").kg, kg("200.0").kg, kg("0.2").kg, "pass"),
        (kg("100.0").kg, 3, kg("99.8").kg, kg("100.2").kg, kg("0.2").kg, "fail"),
    ]


def test_every_test_that_was_done_says_where_its_limit_is_from() -> None:
    phase = judged(sound_readings())

    told = {t.test: t.limit_source for t in phase.tests}
    assert told["zero"] == "the tolerance at no load, 1 e: NIST HB 44 (2026) section 2.20 Table 6, T.N.3.1"
    assert told["increasing"] == "each load has its own tolerance: NIST HB 44 (2026) section 2.20 Table 6, T.N.3.1"
    assert "T.N.4.4" in told["eccentricity"]
    assert "T.N.5" in told["repeatability"]


def test_too_few_weighings_still_say_which_limit_they_would_have_had() -> None:
    phase = judged([*without(sound_readings(), "repeatability"), *repeated("200.0", "200.0", "200.0")])

    assert "T.N.5" in judged_test(phase, "repeatability").limit_source


def test_a_load_read_in_pounds_is_a_set_of_its_own() -> None:
    pounds = [Reading(1, "repeatability", Mass(kg("441").value, "[lb_av]"), pieces=("200.0",)) for _ in range(3)]

    phase = judged([*sound_readings(), *pounds])

    assert judged_test(phase, "repeatability").verdict == "undecided"
    assert "no-such-range" in {reason.code for reason in judged_test(phase, "repeatability").reasons}


def test_a_finer_display_takes_the_rounding_out_of_the_question() -> None:
    # R 76-1 3.5.3.2: with d = e the rounding hides an error as large as the limit; with d = e / 10 it does not.
    readings = [*without(sound_readings(), "increasing"), *increasing("60.0", "80.0", "100.0", off_by="0.2")]

    coarse, fine = judged(readings, "r76"), judged(readings, "r76", FINE)

    assert judged_test(coarse, "increasing").verdict == "undecided"
    assert judged_test(fine, "increasing").verdict == "pass"


def test_fewer_increasing_loads_than_the_policy_asks_for_decide_nothing() -> None:
    # three at least: common practice, no source; R 76-1 A.4.4.1 asks five of a weighing test (from memory)
    two = [*without(sound_readings(), "increasing"), *increasing("100.0", "200.0")]
    three = [*without(sound_readings(), "increasing"), *increasing("100.0", "200.0", "300.0")]

    few, enough = judged_test(judged(two), "increasing"), judged_test(judged(three), "increasing")

    assert (few.verdict, [reason.code for reason in few.reasons]) == ("undecided", ["too-few-loads"])
    assert (enough.verdict, enough.reasons) == ("pass", ())
