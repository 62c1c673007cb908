"""A visit judged: stages, as left on as found, flags with pointers that resolve, and what holds for any visit."""

import random
from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Any, get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.metrology.judgement import Judgement
from api.metrology.judging import Case, judge
from api.metrology.mass import KILOGRAMS_PER, Mass, mass
from api.metrology.policy import STARTING
from api.metrology.readings import Reading
from api.metrology.repeatability import Spread
from api.metrology.scale import Range, Scale
from api.metrology.submission import PiecesCounted, Submission
from api.metrology.terms import AccuracyClass, AdjustmentType, Outcome, Placed, Position, Purpose, SchemeName
from api.metrology.terms import TestName as ReadingName
from api.metrology.tolerance import HouseTerm, HouseTolerance
from api.metrology.verdict import VERDICTS, WORST_FIRST
from api.metrology.weights import Piece
from tests.metrology.a_case import (
    CORNERS,
    a_case,
    a_certificate,
    a_dual_unit_scale,
    a_phase,
    a_piece,
    a_range,
    a_reading,
    a_scale,
    a_visit,
    all_required,
    an_adjustment,
    codes_of,
    eccentricity,
    found_of,
    increasing,
    judged,
    left_of,
    repeatability,
    some_pieces,
    stack,
    zero,
)

HOUSE = HouseTolerance("ours", (HouseTerm(percent=Decimal("0.2")),), "larger", "invented for the tests")
LEFT = [*zero(), *increasing()]


def test_a_complete_visit_without_an_error_passes_without_a_flag() -> None:
    judgement = judged()

    assert judgement.verdict_as_found == "pass"
    assert judgement.flags == ()
    assert judgement.notes == ()


def test_as_left_stands_on_as_found_when_nothing_was_adjusted() -> None:
    """ISO/IEC 17025:2017 7.8.4.1 d asks for both results only after an adjustment; one result stands (a house rule)."""
    judgement = judged()

    assert judgement.as_left is judgement.as_found
    assert judgement.as_left_rests_on == "as found: nothing was adjusted"
    assert not judgement.adjusted


def test_adjusted_without_as_left_has_no_result_as_left_and_a_flag() -> None:
    """As found passed, but it says nothing of the scale after the adjustment."""
    judgement = judged(a_case(a_visit(all_required(), adjustments=[an_adjustment(pieces=stack(200))])))

    assert judgement.verdict_as_found == "pass"
    assert judgement.verdict_as_left is None
    assert judgement.as_left_rests_on == "nothing"
    assert codes_of(judgement.flags) == ["as-left-missing"]


def test_readings_as_left_are_judged_by_themselves() -> None:
    failing = [*zero(), *increasing(("20.0", "100.0", "200.3", "300.4")), *eccentricity(), *repeatability()]

    judgement = judged(a_case(a_visit(failing, LEFT, [an_adjustment(pieces=stack(200))])))

    assert (judgement.verdict_as_found, judgement.verdict_as_left) == ("fail", "pass")
    assert judgement.as_left_rests_on == "own readings"


def test_no_as_found_readings_are_a_flag_and_as_left_then_needs_every_test() -> None:
    judgement = judged(a_case(a_visit(None, LEFT)))

    assert judgement.verdict_as_found is None
    assert judgement.verdict_as_left == "undecided"
    assert codes_of(judgement.flags) == ["test-missing", "test-missing", "as-found-missing"]
    assert [f.facts["test"] for f in judgement.flags[:2]] == ["eccentricity", "repeatability"]


def test_a_test_that_did_not_pass_as_found_is_asked_for_again_as_left() -> None:
    """Common practice, no source."""
    uneven = [*zero(), *increasing(), *eccentricity(corners=("100.3", "100.0", "100.0", "100.0")), *repeatability()]

    judgement = judged(a_case(a_visit(uneven, LEFT, [an_adjustment("corner", None)])))

    assert judgement.verdict_as_left == "undecided"
    assert "eccentricity" in [t.test for t in left_of(judgement).tests if t.required]


@pytest.mark.parametrize(
    ("scheme_name", "purpose", "adjusted", "stages"),
    [
        ("hb44", "scheduled", False, ("maintenance", "maintenance")),
        ("hb44", "scheduled", True, ("maintenance", "acceptance")),
        ("hb44", "initial", False, ("acceptance", "acceptance")),
        ("hb44", "after repair", True, ("maintenance", "acceptance")),
        ("r76", "scheduled", False, ("in-service", "in-service")),
        ("r76", "scheduled", True, ("in-service", "initial")),
        ("r76", "initial", False, ("initial", "initial")),
        ("house", "scheduled", True, ("house", "house")),
    ],
)
def test_the_stage_follows_what_was_done_to_the_scale(
    scheme_name: SchemeName, purpose: Purpose, adjusted: bool, stages: tuple[str, str]
) -> None:
    """HB 44 G-T.1 and G-T.2, OIML R 76-1:2006 3.5.1 and 3.5.2, from memory; for a hospital a house policy."""
    adjustments = [an_adjustment(pieces=stack(200))] if adjusted else []
    visit = a_visit(all_required(), LEFT, adjustments, purpose)

    judgement = judged(a_case(visit, scheme_name=scheme_name, house=HOUSE if scheme_name == "house" else None))

    assert (found_of(judgement).scheme.stage, left_of(judgement).scheme.stage) == stages


def test_an_error_that_passes_as_found_may_fail_as_left() -> None:
    """100 kg are 1000 e: 2 e in maintenance, 1 e at acceptance (HB 44 section 2.20 Table 6, T.N.3.2)."""
    readings = [*zero(), *increasing(("20.0", "100.2", "200.0")), *eccentricity(), *repeatability()]

    judgement = judged(a_case(a_visit(readings, readings, [an_adjustment(pieces=stack(200))])))

    assert (judgement.verdict_as_found, judgement.verdict_as_left) == ("pass", "fail")


def buoyancy_of(judgement: Judgement, phase: str) -> float:
    """Return the buoyancy bound of the 100 kg point of a phase, in grams."""
    points = getattr(judgement, phase).points
    budget = next(p.budget for p in points if p.reading.test == "increasing" and p.nominal_kg == 100)
    return next(float(c.share) * 1000 for c in budget.contributions if c.name == "buoyancy bound")


def test_adjusted_on_site_the_buoyancy_bound_as_left_is_smaller() -> None:
    """5 x 20 kg M1: 1.5877 g, and 5 g / (4 sqrt 3) = 0.7217 g adjusted on site (cg-18 7.1.2.4, from memory)."""
    judgement = judged(a_case(a_visit(all_required(), LEFT, [an_adjustment(pieces=stack(200))])))

    assert buoyancy_of(judgement, "as_found") == pytest.approx(1.5877132402714709, rel=1e-12)
    assert buoyancy_of(judgement, "as_left") == pytest.approx(0.7216878364870323, rel=1e-12)


def test_a_zero_adjustment_does_not_change_the_buoyancy_bound() -> None:
    """Only a span set with weights in the air of the place takes the air of the place along (cg-18 7.1.2.4)."""
    judgement = judged(a_case(a_visit(all_required(), LEFT, [an_adjustment("zero", None)])))

    assert buoyancy_of(judgement, "as_left") == pytest.approx(1.5877132402714709, rel=1e-12)


def flags_with_span(shown: str, unit: str) -> list[str]:
    """Return the flags of a visit whose span was adjusted with 300 lb or 140 kg in class F or M1 pieces."""
    pounds = {f"L{n}": a_piece(f"L{n}", "50", "[lb_av]", "F") for n in range(6)}
    placed = tuple(pounds) if unit == "[lb_av]" else stack(140)
    adjustment = an_adjustment(at=shown, pieces=placed, unit=unit)
    visit = a_visit(all_required(), LEFT, [adjustment], pieces_counted=PiecesCounted(30, 30))
    return codes_of(judged(a_case(visit, a_dual_unit_scale(), some_pieces() | pounds)).flags)


def test_a_span_load_of_300_lb_is_heavy_enough_and_the_heavier_140_kg_is_not() -> None:
    """300 lb are 136.08 kg: half of 600 lb, less than half of 300 kg (half the capacity: common practice, no source)."""
    assert flags_with_span("300", "[lb_av]") == []
    assert flags_with_span("140", "kg") == ["span-load-too-light"]


def resolve(visit: Submission, pointer: str) -> Any:
    """Return what a pointer leads to in what was sent; a step that leads nowhere is an error."""
    place: Any = visit
    for step in pointer.removeprefix("#/").split("/"):
        place = place[int(step)] if step.isdigit() else getattr(place, step)
    return place


@pytest.mark.parametrize(
    "pieces",
    [some_pieces() | {"K05": a_piece("K05", certificate=None)}, {c: p for c, p in some_pieces().items() if c != "K05"}],
    ids=["expired", "unknown"],
)
def test_a_piece_expired_or_unknown_is_undecided_and_flagged_where_it_first_stood(pieces: dict[str, Piece]) -> None:
    visit = a_visit(all_required())

    judgement = judged(a_case(visit, pieces=pieces))

    assert judgement.verdict_as_found == "undecided"
    assert codes_of(judgement.flags) == ["no-reference-value"]
    assert judgement.flags[0].facts == {"pieces": "K05"}
    first = resolve(visit, judgement.flags[0].pointer or "")
    assert first is next(r for r in found_of(judgement).points if "K05" in r.reading.pieces).reading


def test_an_unloaded_reading_is_not_taken_for_one_of_a_load_that_nobody_named() -> None:
    """The same 0.0 kg: read for zero it is judged, read for an increasing load its load is missing (own)."""
    readings = [a_reading("zero set", "0.0"), a_reading("increasing", "0.0")]

    found, reversed_ = (found_of(judged(a_case(a_visit(order)))) for order in (readings, readings[::-1]))

    assert [p.verdict for p in found.points] == ["pass", "undecided"]
    assert [p.verdict for p in reversed_.points] == ["undecided", "pass"]


def test_a_reason_is_flagged_once_a_phase_at_its_first_reading() -> None:
    readings = [*zero(), *increasing(("20.05", "100.05", "200.05")), *eccentricity(), *repeatability()]

    judgement = judged(a_case(a_visit(readings)))

    assert [(f.code, f.pointer) for f in judgement.flags] == [("off-grid", "#/as_found/readings/1")]


def test_the_pointer_counts_readings_that_were_left_out() -> None:
    out = a_reading("increasing", "19.0", stack(20), excluded="bumped")
    readings = [*zero(), out, *increasing(("20.05", "100.0")), *eccentricity(), *repeatability()]
    visit = a_visit(readings)

    judgement = judged(a_case(visit))

    assert resolve(visit, judgement.flags[0].pointer or "").indication.shown == "20.05 kg"


def test_an_undecided_reading_by_rounding_or_guard_band_is_a_reason_and_no_flag() -> None:
    """Nothing is there to be mended: the reason says all (a house rule)."""
    visit = a_visit([*zero(), *increasing(), *eccentricity(), *repeatability()], purpose="initial")

    judgement = judged(a_case(visit, scheme_name="r76"))

    assert judgement.verdict_as_found == "undecided"
    assert judgement.flags == ()
    assert any("3.5.3.2" in reason for reason in found_of(judgement).reasons)


def test_a_reading_left_out_is_not_judged() -> None:
    out = a_reading("increasing", "150.0", stack(100), excluded="somebody leant on the platform")

    judgement = judged(a_case(a_visit([*all_required(), out])))

    assert judgement.verdict_as_found == "pass"
    assert out.indication not in [p.reading.indication for p in found_of(judgement).points]


def test_a_failed_test_that_nobody_required_still_fails_the_phase() -> None:
    """A house rule: what was seen is not forgotten."""
    change = a_reading("discrimination", "100.0", stack(100), before="100.0", added="0.14")

    judgement = judged(a_case(a_visit([*all_required(), change])))

    assert judgement.verdict_as_found == "fail"


def test_a_scale_without_corners_needs_no_eccentricity() -> None:
    readings = [*zero(), *increasing(), *repeatability()]

    assert judged(a_case(a_visit(readings), a_scale(kind="sling"))).verdict_as_found == "pass"
    assert judged(a_case(a_visit(readings))).verdict_as_found == "undecided"


def repeatability_source(case: Case) -> str:
    """Return what the repeatability of the first loaded point as found was taken from."""
    points = found_of(judge(case)).points
    budget = next(p.budget for p in points if p.nominal_kg and p.budget)
    return next((c.source for c in budget.contributions if c.name == "repeatability"), "nowhere")


def test_the_repeatability_is_the_phases_own_else_the_other_phases_else_the_registers() -> None:
    on_file = Spread(0.05, 9, "the register")
    bare, full = [*zero(), *increasing(("100.0",))], [*zero(), *increasing(("100.0",)), *repeatability()]

    own = repeatability_source(a_case(a_visit(full), registered_spread=on_file))
    other = repeatability_source(a_case(a_visit(bare, full), registered_spread=on_file))

    assert "this visit" in own
    assert "this visit" in other
    assert repeatability_source(a_case(a_visit(bare), registered_spread=on_file)) == "the register"
    assert repeatability_source(a_case(a_visit(bare))) == "nowhere"


def test_a_house_scheme_without_its_rule_judges_nothing_and_says_so() -> None:
    judgement = judged(a_case(scheme_name="house"))

    assert (judgement.as_found, judgement.as_left) == (None, None)
    assert codes_of(judgement.flags) == ["bad-rule"]


def test_nothing_tested_is_no_verdict() -> None:
    judgement = judged(a_case(replace(a_visit(None, outcome="not tested"), reasons=("in use",))))

    assert (judgement.verdict_as_found, judgement.verdict_as_left) == (None, None)
    assert judgement.flags == ()


def test_the_pieces_used_are_told_in_the_order_first_named() -> None:
    judgement = judged(a_case(a_visit([*increasing(("40.0", "20.0"))])))

    assert [p.code for p in judgement.pieces] == ["K01", "K02"]


# What holds for any visit. Loads are made of few pieces and readings lie close to them, so that every verdict occurs.

loads = st.sampled_from([0, 20, 40, 100, 200, 300])
steps = st.integers(-5, 5)
rule_names = st.sampled_from(["simple acceptance", "guarded acceptance", "four zones"])
scheme_names = st.sampled_from(["hb44", "r76"])


def near(test: ReadingName, load: int, divisions: int, position: Position | None = None) -> Reading:
    """Return a reading some divisions of 0.1 kg beside its load."""
    shown = f"{load + Decimal(divisions) / 10:.1f}"
    return a_reading(test, shown, stack(load), load=None if load else mass("0", "kg"), position=position)


def readings_near() -> st.SearchStrategy[list[Reading]]:
    """Readings of every test, with the required ones usually complete."""
    rises = st.lists(st.builds(near, st.just("increasing"), loads, steps), min_size=1, max_size=4)
    repeats = st.lists(st.builds(near, st.just("repeatability"), st.sampled_from([100, 200]), steps), max_size=6)
    placed = st.lists(
        st.builds(
            near, st.just("eccentricity"), st.sampled_from([100, 120]), steps, st.sampled_from(["centre", *CORNERS])
        ),
        max_size=8,
    )
    zeros = st.lists(st.builds(near, st.sampled_from(["zero set", "zero found"]), st.just(0), steps), max_size=2)
    return st.tuples(zeros, rises, placed, repeats).map(lambda parts: [r for part in parts for r in part])


def in_grams(reading: Reading) -> Reading:
    """Return the same reading in grams."""
    return replace(reading, indication=Mass(reading.indication.value * 1000, "g"))


def a_gram_scale(scale: Scale) -> Scale:
    """Return the same scale with ranges in grams."""
    return replace(scale, ranges=tuple(Range("g", r.max * 1000, r.d * 1000, r.e * 1000) for r in scale.ranges))


def summary(judgement: Judgement) -> list[tuple[str, str, Decimal | None]]:
    """Return every test's verdict and measured value, and the phase's verdict."""
    phase = found_of(judgement)
    return [("overall", phase.verdict, None), *[(t.test, t.verdict, t.measured_kg) for t in phase.tests]]


@given(readings_near(), scheme_names, rule_names)
def test_a_judgement_does_not_depend_on_kilograms_or_grams(
    readings: list[Reading], scheme_name: SchemeName, rule: Any
) -> None:
    policy = replace(STARTING, decision_rule=rule)

    kg = judged(a_case(a_visit(readings), scheme_name=scheme_name, policy=policy))
    g = judged(
        a_case(a_visit(map(in_grams, readings)), a_gram_scale(a_scale()), scheme_name=scheme_name, policy=policy)
    )

    assert summary(g) == summary(kg)
    for one, other in zip(found_of(kg).points, found_of(g).points, strict=True):
        assert (one.error_kg, one.verdict) == (other.error_kg, other.verdict)
        assert one.budget is not None
        assert other.budget is not None
        assert other.budget.expanded == pytest.approx(one.budget.expanded, rel=1e-12)
        assert other.budget.printed == one.budget.printed


@given(loads, st.integers(0, 8), st.integers(0, 8), st.sampled_from([1, -1]), scheme_names, rule_names)
def test_a_larger_error_never_has_a_better_verdict(
    load: int, one: int, other: int, sign: int, scheme_name: SchemeName, rule: Any
) -> None:
    """R 76 leaves a band around the limit undecided: it lies between pass and fail, so the order holds for it too."""
    policy = replace(STARTING, decision_rule=rule)
    smaller, larger = sorted((one, other))

    found = [
        found_of(
            judged(a_case(a_visit([near("increasing", load, sign * n)]), scheme_name=scheme_name, policy=policy))
        ).points[0]
        for n in (smaller, larger)
    ]

    assert WORST_FIRST.index(found[0].verdict) >= WORST_FIRST.index(found[1].verdict)


@given(readings_near(), scheme_names, st.randoms(use_true_random=False))
def test_the_order_of_the_readings_changes_no_verdict(
    readings: list[Reading], scheme_name: SchemeName, chance: random.Random
) -> None:
    shuffled = chance.sample(readings, len(readings))

    one, other = (judged(a_case(a_visit(r), scheme_name=scheme_name)) for r in (readings, shuffled))

    assert [s[:2] for s in summary(one)] == [s[:2] for s in summary(other)]
    assert found_of(one).proven == found_of(other).proven
    assert sorted(set(codes_of(one.flags))) == sorted(set(codes_of(other.flags)))


def test_which_of_two_loads_at_the_corners_came_first_changes_nothing() -> None:
    """Four corners at 100 kg, and four readings of another load at one place only: the corners count (own)."""
    corners = [near("eccentricity", 100, 0, where) for where in CORNERS]
    one_place = [near("eccentricity", 120, 0, "centre")] * 4

    orders = (corners + one_place, one_place + corners)

    found = [judged(a_case(a_visit([*zero(), *increasing(), *repeatability(), *placed]))) for placed in orders]
    assert [j.verdict_as_found for j in found] == ["pass", "pass"]


def test_a_centre_read_several_times_counts_by_its_largest_difference_in_any_order() -> None:
    """House rule: centres 100.0 and 100.1, a corner 100.2; the difference is 0.2 kg at 100 kg (cg-18 7.1.1.4)."""
    centres = [near("eccentricity", 100, n, "centre") for n in (0, 1)]
    corner = near("eccentricity", 100, 2, "front left")

    points = [
        found_of(judged(a_case(a_visit([near("increasing", 200, 0), *middle, corner])))).points[0]
        for middle in (centres, centres[::-1])
    ]

    shares = [c.share for p in points if p.budget for c in p.budget.contributions if c.name == "eccentricity"]
    assert shares == pytest.approx([0.2 * 200 / (2 * 100 * 3**0.5)] * 2, rel=1e-12)


@given(readings_near(), readings_near(), scheme_names, rule_names)
def test_the_same_input_has_the_same_judgement(
    found: list[Reading], left: list[Reading], scheme_name: SchemeName, rule: Any
) -> None:
    def once() -> Judgement:
        visit = a_visit(found, left, [an_adjustment(pieces=stack(200))])
        return judge(a_case(visit, scheme_name=scheme_name, policy=replace(STARTING, decision_rule=rule)))

    assert once() == once()


units = st.sampled_from(sorted(KILOGRAMS_PER))
codes = st.sampled_from(["K01", "K02", "K03", "OLD", "GRAM", "LB50", "ODD", "X9"])
masses = st.builds(
    lambda number, places, unit: Mass(Decimal(number).scaleb(-places), unit),
    st.integers(-(10**12), 10**12) | st.integers(-5000, 5000),
    st.integers(0, 9),
    units,
)
any_pieces: dict[str, Piece] = some_pieces(3) | {
    "OLD": a_piece("OLD", certificate=None),
    "GRAM": a_piece("GRAM", "500", "g", "M2"),
    "LB50": a_piece("LB50", "50", "[lb_av]", "F"),
    "ODD": a_piece("ODD", "25", "kg", "M1", a_certificate("25.01", "0.02", "2.13")),
}
any_reading = st.builds(
    Reading,
    seq=st.integers(0, 99),
    test=st.sampled_from(get_args(ReadingName)),
    indication=masses,
    load=st.none() | masses,
    pieces=st.lists(codes, max_size=4).map(tuple),
    placed=st.none() | st.sampled_from(get_args(Placed)),
    position=st.none() | st.sampled_from(get_args(Position)),
    stable=st.none() | st.booleans(),
    range_selected=st.none() | st.integers(0, 4),
    before=st.none() | masses,
    added=st.none() | masses,
    excluded=st.none() | st.just("bumped"),
)
any_adjustment = st.builds(
    lambda kind, at, pieces: replace(an_adjustment(kind, None, pieces), at_load=at),
    st.sampled_from(get_args(AdjustmentType)),
    st.none() | masses,
    st.lists(codes, max_size=4),
)
any_readings = st.none() | st.lists(any_reading, min_size=1, max_size=8)
TWO_RANGES: Sequence[Range] = (a_range("150", "0.05", e="0.1", min="1"), a_range("300", "0.1"))
any_scale = st.builds(
    a_scale,
    st.sampled_from([(a_range(),), a_dual_unit_scale().ranges, TWO_RANGES, (a_range("20000", "5", "g"),)]),
    st.sampled_from(["stand-on", "sling", "bed"]),
    st.sampled_from(get_args(AccuracyClass)),
    st.sampled_from(["single", "multi-interval", "multiple-range"]),
    st.integers(1, 6),
)
any_house = st.none() | st.builds(
    HouseTolerance,
    st.just("ours"),
    st.lists(
        st.sampled_from(
            [HouseTerm(percent=Decimal("0.15")), HouseTerm(mass_kg=Decimal("0.2")), HouseTerm(divisions=Decimal("1.5"))]
        ),
        max_size=3,
    ).map(tuple),
    st.sampled_from(["larger", "smaller"]),
    st.just("invented"),
)
any_policy = st.builds(
    lambda reference, rule, drift: replace(STARTING, reference=reference, decision_rule=rule, drift_factor=drift),
    st.sampled_from(["certificate", "nominal"]),
    rule_names,
    st.sampled_from([Decimal(0), Decimal(1), Decimal("1.7")]),
)
any_visit = st.builds(
    a_visit,
    any_readings,
    any_readings,
    st.lists(any_adjustment, max_size=3),
    st.sampled_from(get_args(Purpose)),
    st.sampled_from(get_args(Outcome)),
    st.none(),
)
any_case = st.builds(
    a_case,
    any_visit,
    any_scale,
    st.just(any_pieces),
    scheme_name=st.sampled_from(get_args(SchemeName)),
    house=any_house,
    policy=any_policy,
    heaviest_load_used_kg=st.none() | st.just("120"),
    registered_spread=st.none() | st.just(Spread(0.05, 9, "the register")),
)


@given(any_case)
def test_any_visit_has_a_judgement_and_every_flag_leads_to_a_place_in_it(case: Case) -> None:
    judgement = judge(case)

    for flag in (*judgement.flags, *judgement.notes):
        assert flag.sentence
        if flag.pointer is not None:
            resolve(case.submission, flag.pointer)
    for phase in (judgement.as_found, judgement.as_left):
        if phase is not None:
            assert phase.verdict in VERDICTS
            assert all(p.verdict in VERDICTS for p in phase.points)


@given(any_case)
def test_a_point_that_passes_has_an_error_within_its_tolerance_and_no_reason(case: Case) -> None:
    judgement = judge(case)

    points = [p for phase in (judgement.as_found, judgement.as_left) if phase for p in phase.points]
    for point in (p for p in points if p.verdict == "pass" and p.reading.test != "discrimination"):
        assert point.reasons == ()
        assert point.error_kg is not None
        assert point.tolerance is not None
        assert abs(point.error_kg) <= point.tolerance.kg


@given(any_case)
def test_a_phase_passes_only_where_every_required_test_was_done_and_passed(case: Case) -> None:
    judgement = judge(case)

    for phase in (judgement.as_found, judgement.as_left):
        if phase is not None and phase.verdict == "pass":
            assert {t.verdict for t in phase.tests if t.required} == {"pass"}


def test_a_phase_keeps_its_readings_in_the_order_taken() -> None:
    phase = a_phase(all_required())

    judgement = judged(a_case(replace(a_visit(None), as_found=phase)))

    assert tuple(p.reading for p in found_of(judgement).points) == phase.readings
