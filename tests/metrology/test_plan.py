"""Plans of every kind: what holds for all of them, and what is particular to one."""

from datetime import date
from decimal import Decimal
from typing import get_args

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from api.metrology.kinds_of_plan import KIND_PLANS, PLAN_OF
from api.metrology.mass import in_kilograms
from api.metrology.plan import plan_of
from api.metrology.plan_steps import Need, Plan, PlanFacts, PlanStep
from api.metrology.policy import STARTING
from api.metrology.scale import Scale
from api.metrology.terms import Kind, Position
from api.metrology.terms import TestName as ReadingName
from api.metrology.tolerance import scheme
from api.metrology.weights import Piece
from tests.metrology.a_case import a_certificate, a_piece, a_range, a_scale

RANGES = {
    "chair": [a_range("150", "0.05", min="1"), a_range("250", "0.10")],
    "infant": [a_range("10", "0.005", min="0.1"), a_range("20", "0.010")],
    "incubator": [a_range("10", "0.005")],
    "pharmacy balance": [a_range("2200", "0.01", "g", e="0.1")],
    "analytical balance": [a_range("220", "0.0001", "g", e="0.001")],
}
CLASSES = {"pharmacy balance": "II", "analytical balance": "I"}


def the_scale(kind: str) -> Scale:
    ranges = RANGES.get(kind, [a_range("200", "0.1", min="2")])
    arrangement = "multi-interval" if len(ranges) > 1 else "single"
    return a_scale(ranges, kind, CLASSES.get(kind, "III"), arrangement)


def a_set() -> tuple[Piece, ...]:
    """Ten pieces of 20 kg and smaller ones down to 100 g: 220 kg and a little more."""
    heavy = [a_piece(f"T{n:02d}") for n in range(1, 11)]
    nominal = ("10", "5", "2", "2", "1", "0.5", "0.2", "0.2", "0.1")
    return (*heavy, *[a_piece(f"S{n}", value) for n, value in enumerate(nominal)])


def a_plan(scale: Scale, pieces: tuple[Piece, ...] | None = None, rules: str = "hb44", **more: object) -> Plan:
    stages = ("maintenance", "acceptance") if rules == "hb44" else ("in-service", "initial")
    found, left = (scheme(rules, stage) for stage in stages)
    facts = PlanFacts("A-01", date(2026, 3, 2), scale, scale.ranges[0].unit, found, left, STARTING,
                      "FS" if pieces else None, pieces, **more)  # fmt: skip
    return plan_of(facts)


def steps(plan: Plan, test: str) -> list[PlanStep]:
    return [step for step in plan.steps if step.test == test]


def test_every_kind_has_a_plan_and_no_kind_two() -> None:
    assert sorted(PLAN_OF) == sorted(get_args(Kind))
    assert len(KIND_PLANS) == len(PLAN_OF) == 12


@pytest.mark.parametrize("kind", sorted(PLAN_OF))
@pytest.mark.parametrize("rules", ["hb44", "r76"])
def test_every_kind_goes_from_talk_to_telling(kind: str, rules: str) -> None:
    plan = a_plan(the_scale(kind), a_set(), rules)
    names = [step.name for step in plan.steps]

    assert [step.number for step in plan.steps] == list(range(1, len(names) + 1))
    assert names[0] == "entrance talk and cleaning"
    assert names.index("configuration before") < names.index("zero found") < names.index("zero set")
    assert (
        names.index("zero set") < names.index("increasing") < names.index("zero after") < names.index("repeatability")
    )
    assert names[-3:] == ["count the pieces", "label", "inform"]
    assert {"C-08", "C-09", "C-14", "C-20", "C-21"} <= set(plan.cautions)


@pytest.mark.parametrize("kind", sorted(PLAN_OF))
def test_places_are_those_of_the_record_and_hoists_have_none(kind: str) -> None:
    places = {step.position for step in steps(a_plan(the_scale(kind), a_set()), "eccentricity")}

    assert places <= set(get_args(Position))
    assert bool(places) == (kind != "sling")


@given(
    kind=st.sampled_from(sorted(PLAN_OF)), rules=st.sampled_from(["hb44", "r76"]), heavy=st.integers(0, 10),
    used=st.one_of(st.none(), st.integers(30, 190)), safe=st.one_of(st.none(), st.integers(190, 300)),
)  # fmt: skip
@settings(max_examples=150)
def test_no_plan_asks_for_what_is_not_safe_or_not_there(
    kind: str, rules: str, heavy: int, used: int | None, safe: int | None
) -> None:
    scale, pieces = the_scale(kind), a_set()[10 - heavy :]
    nominal = {piece.code: piece.nominal.kg for piece in pieces}
    person = kind not in ("infant", "incubator", "pharmacy balance", "analytical balance")
    plan = a_plan(
        scale, pieces, rules, heaviest_used_kg=Decimal(used) if used and person else None,
        safe_working_load_kg=Decimal(safe) if safe else None,
    )  # fmt: skip
    top = in_kilograms(scale.ranges[-1].max, scale.ranges[-1].unit)
    most = min(top, Decimal(safe) - Decimal(PLAN_OF[kind].dead_load_kg)) if safe else top
    words = [step.do for step in plan.steps]

    assert not any(mark in said for said in words for mark in "{}")
    standing: set[str] = set()
    for step in plan.steps:
        standing = standing - set(step.take_off) | set(step.put_on)
        assert standing == set(step.pieces) <= set(nominal)
        assert sum(nominal[code] for code in standing) <= most
        assert step.load is None or step.load.kg <= most
        if (
            step.pieces
            and step.load
            and not step.name.startswith(("substitution", "discrimination"))
            and not step.cannot
        ):
            tare = step.tare.kg if step.tare else 0
            assert sum(nominal[code] for code in step.pieces) == step.load.kg + tare
    up = [step for step in steps(plan, "increasing") if step.name == "increasing" and step.load]
    loads = [step.load.kg for step in up if step.load]
    allowed = [step.tolerance.as_found.kg for step in up if step.tolerance]
    assert loads == sorted(loads)
    assert allowed == sorted(allowed)
    assert all(s.tolerance.as_left.kg <= s.tolerance.as_found.kg for s in up if s.tolerance)


def test_tolerances_stand_in_the_unit_in_use() -> None:
    """1000 lb x 0.2 lb, HB 44 2.20 Table 6: 3 d = 0.6 lb up to 800 lb, 5 d = 1 lb above."""
    plan = a_plan(a_scale([a_range("1000", "0.2", "[lb_av]")]))

    shown = [step.tolerance.as_found.shown for step in steps(plan, "increasing") if step.tolerance]
    assert shown[-1] == "1 lb"
    assert "0.6 lb" in shown


def test_discrimination_adds_1_4_d_near_min_half_and_max() -> None:
    """HB 44 2.20 T.N.7.2; OIML R 76-1:2006 3.8.2.2: 1.4 d."""
    plan = a_plan(the_scale("chair"), (*a_set(), a_piece("T11"), a_piece("T12")))

    tried = [(step.load.kg, step.added.shown) for step in steps(plan, "discrimination") if step.load and step.added]
    assert [added for _, added in tried] == ["0.07 kg", "0.07 kg", "0.14 kg"]
    assert (tried[0][0], tried[-1][0]) == (1, 250)
    assert 90 <= tried[1][0] <= 155


def test_corners_of_a_bed_carry_what_is_safe() -> None:
    corners = steps(a_plan(the_scale("bed"), a_set()), "eccentricity")

    assert {step.position for step in corners} == {"centre", "head left", "head right", "foot left", "foot right"}
    assert all(step.load and step.load.kg <= 60 for step in corners)


def test_six_supports_carry_one_fifth_each_under_r_76() -> None:
    """OIML R 76-1:2006 3.6.2: Max / (n - 1); 300 kg on six cells: 60 kg."""
    corners = steps(a_plan(a_scale(supports=6), a_set(), "r76"), "eccentricity")

    assert {step.load.kg for step in corners if step.load} >= {Decimal(60)}


def test_a_hoist_lifts_no_more_than_20_kg_off_centre() -> None:
    off = next(step for step in a_plan(the_scale("sling"), a_set()).steps if step.name == "off centre")

    assert off.load is not None
    assert off.load.kg <= 20


def test_a_magnet_zone_stops_the_plan_at_its_first_step() -> None:
    plan = a_plan(the_scale("stand-on"), a_set(), magnet_zone=True, ward="Imaging", call="safety officer, extension 1")

    (only,) = plan.steps
    assert only.cautions == ("C-18",)
    assert not only.load
    assert not only.pieces
    assert "safety officer, extension 1" in only.do
    assert plan.lifting is None
    assert plan.stops is not None
    assert "Imaging" in plan.stops
    assert "plan of the ward where it will be tested" in plan.stops


def test_without_a_set_loads_are_told_and_no_pieces() -> None:
    plan = a_plan(the_scale("stand-on"))

    assert not any(step.pieces or step.cannot for step in plan.steps)
    assert "No set was named" in plan.proves
    assert plan.lifting is None


def test_where_the_set_ends_ballast_goes_on_and_the_plan_says_so() -> None:
    plan = a_plan(a_scale([a_range("300", "0.1")]), a_set())

    assert [step.name for step in plan.steps if step.name.startswith("substitution")] == ["substitution 1"]
    assert "up to 300 kg" in plan.proves


def test_where_no_ballast_is_allowed_nothing_is_claimed_above_the_set() -> None:
    plan = a_plan(a_scale([a_range("300", "0.1")], "chair"), a_set())

    assert "221 kg only, of 300 kg" in plan.proves
    assert "the certificate must say so" in plan.asks[0]


def test_pieces_over_a_persons_lifting_limit_stay_out() -> None:
    plan = a_plan(the_scale("stand-on"), a_set(), lift_limit_kg=Decimal(10))

    assert {left.why for left in plan.left_out} == {"over the lifting limit"}
    assert not any(code.startswith("T") for step in plan.steps for code in step.pieces)


def test_20_kg_pieces_on_a_floor_platform_exceed_the_lifting_limit() -> None:
    """Revised NIOSH equation, DHHS 94-110: 12.8 kg; 20 / 12.8 = 1.56."""
    plan = a_plan(the_scale("stand-on"), a_set())

    assert plan.lifting is not None
    assert plan.lifting.index == Decimal("1.56")
    assert plan.lifting.lifts > 0


def test_the_need_of_the_ward_stands_beside_the_tolerance() -> None:
    plan = a_plan(the_scale("stand-on"), need=Need(kg=Decimal("0.2")))

    assert {step.tolerance.ward_needs.shown for step in steps(plan, "increasing") if step.tolerance and
            step.tolerance.ward_needs} == {"0.2 kg"}  # fmt: skip


@pytest.mark.parametrize("kind", ["wheelchair platform", "dialysis platform", "portable platform"])
def test_wheel_tracks_and_toe_edges_carry_the_load_of_the_corners(kind: str) -> None:
    tried = steps(a_plan(the_scale(kind), a_set()), "eccentricity")

    assert len({step.load.kg for step in tried if step.load}) == 1
    assert all(step.pieces for step in tried)


def test_a_difference_test_reads_the_load_and_names_the_pieces_of_three_more() -> None:
    """60, 80 and 100 kg, each alone and with 1, 2 and 3 kg on top: the differences decide how much fluid is taken off."""
    nominal = {piece.code: piece.nominal.kg for piece in a_set()}
    tried = steps(a_plan(the_scale("dialysis platform"), a_set()), "difference")

    assert [step.load.kg for step in tried if step.load] == [60, 61, 62, 63, 80, 81, 82, 83, 100, 101, 102, 103]
    for at in range(0, len(tried), 4):
        base, *more = tried[at : at + 4]
        for step in more:
            assert set(base.pieces) < set(step.pieces)
            assert step.added is not None
            assert sum(nominal[code] for code in set(step.pieces) - set(base.pieces)) == step.added.kg


def test_a_dual_unit_scale_is_loaded_in_each_unit_with_the_tolerance_of_that_unit() -> None:
    """600 lb x 0.2 lb beside 300 kg x 0.1 kg, NIST HB 44 2.20 Table 6: 1 d up to 100 lb, 2 d to 400 lb, 3 d above."""
    heavy = (*a_set(), *[a_piece(f"T{n}") for n in range(11, 15)])
    plan = a_plan(a_scale([a_range("300", "0.1"), a_range("600", "0.2", "[lb_av]")]), heavy)
    in_pounds = [step for step in plan.steps if step.display_unit == "[lb_av]"]
    loads = [
        (step.in_display, step.tolerance.as_found.shown) for step in in_pounds if step.in_display and step.tolerance
    ]

    assert plan.unit == "kg"
    assert {step.test for step in in_pounds} == {"zero set", "unit switch", "return to zero"}
    assert all(step.only_if for step in in_pounds)
    assert [allowed for _, allowed in loads] == sorted(allowed for _, allowed in loads)
    assert {allowed for _, allowed in loads} == {"0.2 lb", "0.4 lb", "0.6 lb"}
    shown, allowed = next(pair for pair in loads if pair[0].value > 90)
    assert shown.value <= 100
    assert allowed == "0.2 lb"
    assert all(step.pieces or not step.load for step in in_pounds if not step.cannot)


def test_a_load_is_told_in_the_unit_shown() -> None:
    """45.3 kg are 99.869405 lb: 1 lb is 0.453 592 37 kg exactly (international yard and pound agreement of 1959)."""
    plan = a_plan(a_scale([a_range("200", "0.1"), a_range("440", "0.2", "[lb_av]")]), a_set())

    told = {step.load.kg: step.in_display.shown for step in plan.steps if step.in_display and step.load}
    assert told[Decimal("45.3")] == "99.869 lb"


def test_a_scale_in_kilograms_alone_is_loaded_in_kilograms_alone() -> None:
    assert not any(step.display_unit for step in a_plan(the_scale("chair"), a_set()).steps)


def test_each_range_of_a_multiple_range_scale_has_its_own_loads() -> None:
    """OIML R 76-1:2006 3.2, from memory: each range on its own. 60 kg x 0.02 kg and 200 kg x 0.1 kg, class III: 500 e and
    2000 e are 10 and 40 kg in the first, 50 and 200 kg in the second."""
    scale = a_scale([a_range("60", "0.02", min="0.4"), a_range("200", "0.1", min="2")], arrangement="multiple-range")
    plan = a_plan(scale, (*a_set(), a_piece("S10", "0.1"), a_piece("S11", "0.05"), a_piece("S12", "0.05")))

    by_range = {
        number: [step.load.kg for step in steps(plan, "increasing") if step.range_selected == number and step.load]
        for number in (1, 2)
    }
    assert {10, 40, 60} <= set(by_range[1])
    assert max(by_range[1]) == 60
    assert {2, 50, 200} <= set(by_range[2])
    names = [step.name for step in plan.steps]
    assert names.index("range 1") < names.index("range 2")
    at_40 = [step for step in steps(plan, "increasing") if step.load and step.load.kg == 40 and step.tolerance]
    assert [step.tolerance.as_found.shown for step in at_40 if step.tolerance] == ["0.04 kg"]


def test_a_multi_interval_scale_selects_nothing() -> None:
    assert not any(step.range_selected for step in a_plan(the_scale("chair"), a_set()).steps)


def test_a_wheelchair_is_rolled_over_the_platform_both_ways_and_read_at_three_places() -> None:
    """OIML R 76-1:2006 A.4.7.4, from memory: beginning, middle and end, then in the reverse direction; 0.8 Max at most."""
    rolled = steps(a_plan(the_scale("wheelchair platform"), a_set()), "rolling load")

    assert [step.position for step in rolled] == ["front", "centre", "back"]
    assert all(step.each == ("forwards", "backwards") and step.readings == 2 for step in rolled)
    assert all(step.pieces and step.only_if for step in rolled)
    assert all(step.load and step.load.kg <= Decimal("0.8") * 200 for step in rolled)


def test_zero_after_a_series_is_a_return_to_zero_with_its_minutes() -> None:
    """NIST HB 44 2.20 N.1.9, from memory: the smallest tolerance; OIML R 76-1:2006 3.9.4.2, from memory: 0.5 e."""
    for rules, limit in (("hb44", "0.1 kg"), ("r76", "0.05 kg")):
        back = steps(a_plan(the_scale("stand-on"), a_set(), rules), "return to zero")[0]

        assert "minutes under load" in back.fill
        assert back.tolerance is not None
        assert back.tolerance.as_found.shown == limit


def test_every_test_of_a_plan_is_one_that_a_record_knows() -> None:
    planned = {step.test for kind in PLAN_OF for step in a_plan(the_scale(kind), a_set()).steps if step.test}

    assert planned <= set(get_args(ReadingName))
    assert {"return to zero", "tare", "rolling load", "difference", "creep"} <= planned


def test_a_load_asked_as_100_kg_comes_out_as_100_kg() -> None:
    up = [s.load.kg for s in steps(a_plan(the_scale("stand-on"), a_set()), "increasing") if s.load]

    assert 100 in up
    assert 150 in up


def test_a_posture_names_no_more_than_the_bed_may_carry() -> None:
    plan = a_plan(the_scale("bed"), a_set(), safe_working_load_kg=Decimal(80), dead_load_kg=Decimal(40))
    posture = next(step for step in plan.steps if step.name == "posture")

    assert posture.load is not None
    assert posture.load.kg == 40
    assert "60 kg" not in posture.do
    assert posture.each == ("flat", "head up", "knees up", "tilt")


def test_a_dead_load_that_the_register_does_not_have_is_assumed_aloud() -> None:
    assumed = a_plan(the_scale("bed"), a_set(), safe_working_load_kg=Decimal(180))
    known = a_plan(the_scale("bed"), a_set(), safe_working_load_kg=Decimal(180), dead_load_kg=Decimal(45))

    assert assumed.top_kg == 150
    assert "30 kg is assumed" in assumed.assumed[0]
    assert known.top_kg == 135
    assert known.assumed == ()


def test_a_plan_ends_at_the_set_where_hb_44_wants_more_weights_before_ballast() -> None:
    """NIST HB 44 2.20 N.3 Table 4, second hand: 150 kg of weights for 300 kg."""
    plan = a_plan(a_scale([a_range("300", "0.1")]), a_set()[6:])

    assert not any(step.name.startswith("substitution") for step in plan.steps)
    assert any("150 kg of certified weights come first" in said for said in plan.asks)


def test_a_load_on_ballast_says_how_well_it_is_known() -> None:
    plan = a_plan(a_scale([a_range("300", "0.1")]), a_set())
    exchanged = next(step for step in plan.steps if step.name == "substitution 1")

    assert exchanged.known_within is not None
    assert exchanged.known_within.shown in exchanged.do
    names = [step.name for step in plan.steps]
    assert names.index("repeatability") < names.index("before ballast") < names.index("ballast 1")
    assert names.index("substitution 1") < names.index("ballast off")


def test_a_step_that_can_be_left_out_begins_and_ends_with_nothing_on_the_scale() -> None:
    for kind in PLAN_OF:
        plan = a_plan(the_scale(kind), a_set())
        for before, step in zip(plan.steps, plan.steps[1:], strict=False):
            if bool(step.only_if) != bool(before.only_if):
                assert not set(before.pieces) & set(step.pieces)


def test_what_is_placed_on_top_keeps_the_share_of_the_weights_with_what_stands_below() -> None:
    """Errors of all pieces within one third of the tolerance (OIML R 76-1:2006 3.7.1; NIST HB 44 Appendix A 3.2, from
    memory): five pieces of 20 kg of U 3 g leave 33.3 - 15 = 18.3 g of 100 g at 100 kg; pieces of 20 g are too coarse."""
    coarse = (*[a_piece(f"T{n}", certificate=a_certificate("20", "0.003")) for n in range(1, 11)],
              *[a_piece(f"S{n}", "1", certificate=a_certificate("1", "0.02")) for n in range(1, 4)])  # fmt: skip
    tried = steps(a_plan(the_scale("dialysis platform"), coarse), "difference")

    assert [bool(step.cannot) for step in tried if step.name.startswith("difference at 100 kg")] == [
        False, True, True, True,
    ]  # fmt: skip
