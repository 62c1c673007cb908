"""What holds for every visit: a larger error is never a better verdict, and the order of the tests changes nothing."""

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from api.metrology.clinical_need import ClinicalNeed
from api.metrology.judgement import Judgement, PhaseJudgement
from api.metrology.judging import judge
from api.metrology.mass import Mass, mass
from api.metrology.policy import STARTING, RuleName
from api.metrology.readings import Phase, Reading
from api.metrology.terms import SchemeName
from api.metrology.verdict import WORST_FIRST
from tests.metrology.a_case import a_case, a_reading, a_visit, all_required, stack

NEED = ClinicalNeed("QG-DIA", Decimal("0.3"), None, "ward agreement")
schemes = st.sampled_from(["hb44", "r76"])
rules = st.sampled_from(["simple acceptance", "guarded acceptance", "four zones"])


def kg(value: Decimal) -> Mass:
    return mass(f"{value:f}", "kg")


def judged(readings: Sequence[Reading], scheme: SchemeName, rule: RuleName) -> Judgement:
    """Judge readings in the order given, each with the number it came with."""
    visit = replace(a_visit([]), as_found=Phase(tuple(readings)))
    policy = replace(STARTING, decision_rule=rule)
    return judge(replace(a_case(visit, scheme_name=scheme, policy=policy), clinical=NEED))


def found_in(readings: Sequence[Reading], scheme: SchemeName, rule: RuleName = "simple acceptance") -> PhaseJudgement:
    found = judged(readings, scheme, rule).as_found
    assert found is not None
    return found


def numbered(readings: Sequence[Reading]) -> list[Reading]:
    return [replace(reading, seq=number) for number, reading in enumerate(readings, 1)]


def off_by(test: str, steps: int) -> Reading:
    """Return a reading of 200 kg that is off by so many divisions, each special test with what it needs."""
    shown = kg(200 + Decimal(steps) / 10)
    reading = replace(a_reading("increasing", "0", stack(200)), indication=shown)
    special = {
        "increasing": reading,
        "change-over": replace(reading, change_over_added=kg(Decimal("0.05"))),
        "tare": replace(reading, test="tare", tare=kg(Decimal(20))),
        "rolling load": replace(reading, test="rolling load", position="left"),
        "power cycle": replace(reading, test="power cycle"),
        "substitution": replace(reading, pieces=stack(100), substitution=3),
    }
    return special[test]


@given(
    st.sampled_from(["increasing", "change-over", "tare", "rolling load", "power cycle", "substitution"]),
    schemes, rules, st.integers(-8, 8), st.integers(1, 8),
)  # fmt: skip
def test_a_larger_error_is_never_a_better_verdict(
    test: str, scheme: SchemeName, rule: RuleName, steps: int, more: int
) -> None:
    further = steps + more if steps >= 0 else steps - more

    phases = [found_in(numbered([*all_required(), off_by(test, n)]), scheme, rule) for n in (steps, further)]

    points = [WORST_FIRST.index(phase.points[-1].verdict) for phase in phases]
    overall = [WORST_FIRST.index(phase.verdict) for phase in phases]
    assert points[1] <= points[0]
    assert overall[1] <= overall[0]


def every_kind_of_test() -> list[Reading]:
    """Return a visit with the special tests in it, the numbers in the order taken."""
    return numbered(
        [
            *all_required(),
            replace(a_reading("increasing", "100.1", stack(100)), change_over_added=kg(Decimal("0.08"))),
            replace(a_reading("increasing", "200.1", stack(100)), substitution=14),
            a_reading("decreasing", "100.2", stack(100)),
            replace(a_reading("tare", "100.1", stack(100)), tare=kg(Decimal(20))),
            *(replace(a_reading("creep", "200.0", stack(200)), minutes=minutes) for minutes in (0, 15, 30)),
            a_reading("return to zero", "0.1"),
            a_reading("rolling load", "200.2", stack(200)),
            a_reading("difference", "100.1", stack(100)),
            replace(a_reading("difference", "119.9", stack(120)), base=23),
            a_reading("power cycle", "100.0", stack(100)),
        ]
    )


def told(phase: PhaseJudgement) -> object:
    """What a phase says, without the words that list things in the order they came."""
    tests = [(t.test, t.verdict, t.measured_kg, t.limit_kg, t.differences) for t in phase.tests]
    points = {p.reading.seq: (p.verdict, p.error_kg, p.budget and p.budget.printed) for p in phase.points}
    assert phase.clinical is not None
    return phase.verdict, tests, points, phase.proven, phase.clinical.answer, phase.clinical.limit_kg


@given(st.permutations(sorted({reading.test for reading in every_kind_of_test()})), schemes)
def test_the_order_in_which_readings_of_different_tests_are_sent_changes_nothing(
    order: list[str], scheme: SchemeName
) -> None:
    """Each reading keeps its number, which says when it was taken, and its place among those of its own test."""
    taken = every_kind_of_test()

    sent = sorted(taken, key=lambda reading: order.index(reading.test))

    assert told(found_in(sent, scheme)) == told(found_in(taken, scheme))
