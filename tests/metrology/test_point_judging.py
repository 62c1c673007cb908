"""One point judged: the exact error, the tolerance in the unit shown, the reasons that leave it undecided."""

import json
import math
from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest

from api.metrology.adjustment import least_span_load, span_load
from api.metrology.judgement import PointJudgement
from api.metrology.judging import judge
from api.metrology.mass import mass
from api.metrology.policy import STARTING
from api.metrology.readings import Reading
from api.metrology.repeatability import Spread
from api.metrology.scale import Scale
from api.metrology.terms import Placed, Purpose, SchemeName
from api.metrology.tolerance import scheme, tolerance_at
from api.metrology.weights import Piece
from tests.metrology.a_case import (
    a_case,
    a_certificate,
    a_dual_unit_scale,
    a_piece,
    a_point,
    a_range,
    a_reading,
    a_scale,
    a_visit,
    an_adjustment,
    codes_of,
    eccentricity,
    some_pieces,
    stack,
)

EXAMPLES = Path(__file__).parents[1] / "worked_examples"
DUAL = json.loads((EXAMPLES / "dual_unit_scale.json").read_text())
NOMINAL = replace(STARTING, reference="nominal")
GUARDED = replace(STARTING, decision_rule="guarded acceptance")
FINE = a_scale([a_range("300", "0.01", e="0.1")])


def the_point(
    reading: Reading,
    scale: Scale | None = None,
    pieces: dict[str, Piece] | None = None,
    *,
    scheme_name: SchemeName = "hb44",
    purpose: Purpose = "scheduled",
    policy: object = STARTING,
    others: Sequence[Reading] = (),
    spread: Spread | None = None,
) -> PointJudgement:
    """Return the judgement of one reading in an otherwise bare visit."""
    visit = a_visit([reading, *others], purpose=purpose)
    return a_point(a_case(visit, scale, pieces, scheme_name=scheme_name, policy=policy, registered_spread=spread))


@pytest.mark.parametrize("row", DUAL["tolerances"], ids=lambda r: f"{r['load']} {r['unit']}, HB 44 2.20 Table 6")
def test_a_dual_unit_scale_has_its_tolerance_in_the_unit_shown(row: dict[str, str]) -> None:
    scale = a_dual_unit_scale()
    in_use = scale.ranges_in(row["unit"])[0]

    found = tolerance_at(scheme("hb44", "maintenance"), "III", in_use, mass(row["load"], row["unit"]).kg)

    assert found.kg == mass(row["tolerance"], row["unit"]).kg == Decimal(row["tolerance_kg"])
    assert found.counted == f"{row['steps']} e"


@pytest.mark.parametrize("case", ["one_load_in_either_unit", "the_other_way_round"])
@pytest.mark.parametrize(("key", "unit"), [("in_kg", "kg"), ("in_lb", "[lb_av]")])
def test_a_pass_in_one_unit_is_no_pass_in_the_other(case: str, key: str, unit: str) -> None:
    """Own loads and readings; tolerances HB 44 section 2.20 Table 6, second-hand."""
    expected = DUAL[case][key]

    point = the_point(
        a_reading("increasing", expected["shown"], stack(int(DUAL[case]["load_kg"])), unit=unit), a_dual_unit_scale()
    )

    assert point.error_kg == Decimal(expected["error_kg"])
    assert point.tolerance is not None
    assert point.tolerance.kg == Decimal(expected["tolerance_kg"])
    assert point.verdict == expected["verdict"]


@pytest.mark.parametrize("row", DUAL["least_span_load"], ids=lambda r: f"{r['unit']}, common practice, no source")
def test_the_least_span_load_is_half_the_capacity_of_the_unit_and_is_not_converted(row: dict[str, str]) -> None:
    found = least_span_load(a_dual_unit_scale(), row["unit"], STARTING)

    assert found == mass(row["load"], row["unit"])
    assert found.kg == Decimal(row["load_kg"])


@pytest.mark.parametrize("unit", ["[lb_av]", "kg"])
def test_a_span_load_is_measured_by_the_capacity_of_the_unit_it_was_adjusted_in(unit: str) -> None:
    """140 kg is more than half of 600 lb and less than half of 300 kg (own; half: common practice, no source)."""
    expected = DUAL["span_adjusted_at"]
    adjustment = an_adjustment(at="140", pieces=stack(int(expected["load_kg"])), unit=unit)

    found = span_load(adjustment, a_dual_unit_scale(), some_pieces(), STARTING)

    assert found.load_kg == Decimal(expected["load_kg"])
    assert found.heavy_enough is expected["heavy_enough"][unit]


def test_a_load_above_the_capacity_in_pounds_may_be_within_the_capacity_in_kilograms() -> None:
    """600 lb are 272.16 kg (NIST HB 44 Appendix C)."""
    load = stack(int(DUAL["over_capacity_in_lb_only"]["load_kg"]))

    in_kg, in_lb = (
        the_point(a_reading("increasing", shown, load, unit=unit), a_dual_unit_scale())
        for shown, unit in (("280.0", "kg"), ("617.2", "[lb_av]"))
    )

    assert in_kg.verdict == "pass"
    assert in_lb.verdict == "undecided"
    assert codes_of(in_lb.reasons) == ["over-capacity"]


@pytest.mark.parametrize(
    ("shown", "verdict"),
    [("99.7", "fail"), ("99.8", "pass"), ("100.0", "pass"), ("100.2", "pass"), ("100.3", "fail")],
)
def test_an_error_on_the_limit_passes_and_one_step_beyond_fails(shown: str, verdict: str) -> None:
    """100 kg are 1000 e: 2 e maintenance (NIST HB 44 section 2.20 Table 6, second-hand)."""
    point = the_point(a_reading("increasing", shown, stack(100)))

    assert point.error_kg == Decimal(shown) - 100
    assert point.verdict == verdict


def test_an_error_on_the_limit_passes_where_binary_floats_would_fail_it() -> None:
    """70.2 - 70.0 is more than 0.2 in binary; 700 e: 2 e (own; HB 44 Table 6)."""
    pieces = some_pieces() | {"T10": a_piece("T10", "10")}

    point = the_point(a_reading("increasing", "70.2", (*stack(60), "T10")), pieces=pieces)

    assert 70.2 - 70.0 > 0.2
    assert point.verdict == "pass"


def test_a_certified_value_makes_the_error_and_the_nominal_load_the_tolerance() -> None:
    """Five pieces of 20.0004 kg: 100.002 kg are still judged as a load of 1000 e (own)."""
    pieces = {code: a_piece(code, certificate=a_certificate("20.0004")) for code in stack(100)}
    reading = a_reading("increasing", "100.2", stack(100))

    certified, nominal = (the_point(reading, pieces=pieces, policy=policy) for policy in (STARTING, NOMINAL))

    assert certified.error_kg == Decimal("0.198")
    assert nominal.error_kg == Decimal("0.2")
    assert certified.nominal_kg == nominal.nominal_kg == Decimal(100)
    assert certified.tolerance == nominal.tolerance


def test_a_certified_value_can_turn_a_verdict() -> None:
    """Invented pieces that are 1 g light each: a reading on the nominal limit is beyond the true one."""
    pieces = {code: a_piece(code, certificate=a_certificate("19.999")) for code in stack(100)}
    reading = a_reading("increasing", "100.2", stack(100))

    verdicts = [the_point(reading, pieces=pieces, policy=policy).verdict for policy in (STARTING, NOMINAL)]

    assert verdicts == ["fail", "pass"]


@pytest.mark.parametrize(
    ("pieces", "named"),
    [
        ({"K01": a_piece("K01", certificate=None)}, "K01"),
        ({}, "K01"),
    ],
    ids=["expired", "unknown"],
)
def test_a_piece_expired_or_unknown_leaves_the_point_undecided_and_is_named(
    pieces: dict[str, Piece], named: str
) -> None:
    point = the_point(a_reading("increasing", "20.0", ("K01",)), pieces=pieces)

    assert point.verdict == "undecided"
    assert codes_of(point.reasons) == ["no-reference-value"]
    assert point.reasons[0].facts == {"pieces": named}
    assert point.error_kg is None


def test_an_expired_certificate_decides_nothing_under_the_nominal_policy() -> None:
    point = the_point(
        a_reading("increasing", "20.0", ("K01",)), pieces={"K01": a_piece(certificate=None)}, policy=NOMINAL
    )

    assert point.verdict == "pass"


def test_a_load_without_pieces_has_no_reference_value() -> None:
    point = the_point(a_reading("increasing", "20.0", load=mass("20", "kg")))

    assert (point.verdict, codes_of(point.reasons)) == ("undecided", ["no-reference-value"])
    assert point.nominal_kg == 20


def test_a_load_that_differs_from_its_pieces_is_undecided_and_both_are_told() -> None:
    point = the_point(a_reading("increasing", "40.0", stack(20), load=mass("40", "kg")))

    assert (point.verdict, codes_of(point.reasons)) == ("undecided", ["load-differs-from-pieces"])
    assert point.reasons[0].facts == {"load": "40 kg", "pieces": "20 kg"}


def test_a_load_written_in_another_unit_does_not_differ_from_its_pieces() -> None:
    point = the_point(a_reading("increasing", "20.0", stack(20), load=mass("20000", "g")))

    assert (point.verdict, point.reasons) == ("pass", ())


def test_a_reading_between_two_divisions_is_undecided() -> None:
    point = the_point(a_reading("increasing", "100.05", stack(100)))

    assert (point.verdict, codes_of(point.reasons)) == ("undecided", ["off-grid"])
    assert point.error_kg == Decimal("0.05")


def test_a_multi_interval_reading_must_fit_the_division_of_what_is_shown() -> None:
    """OIML R 76-1:2006 3.3: d follows the load; 150.05 kg cannot be shown above 150 kg at d = 0.1 kg (own ranges)."""
    scale = a_scale([a_range("150", "0.05"), a_range("300", "0.1")], arrangement="multi-interval")

    below, above = (
        the_point(a_reading("increasing", shown, stack(load)), scale)
        for shown, load in (("139.95", 140), ("160.05", 160))
    )

    assert below.reasons == ()
    assert codes_of(above.reasons) == ["off-grid"]


def test_a_load_above_max_is_undecided_and_says_the_capacity() -> None:
    point = the_point(a_reading("increasing", "320.0", stack(320)))

    assert (point.verdict, codes_of(point.reasons)) == ("undecided", ["over-capacity"])
    assert point.reasons[0].facts == {"load": "320 kg", "capacity": "300 kg"}
    assert point.tolerance is None


def test_a_reading_taken_before_the_display_was_at_rest_is_undecided() -> None:
    point = the_point(replace(a_reading("increasing", "100.0", stack(100)), stable=False))

    assert (point.verdict, codes_of(point.reasons)) == ("undecided", ["not-stable"])


def a_stack_of_50_kg(weight_class: str) -> dict[str, Piece]:
    """Return two pieces of 20 kg and one of 10 kg without certificates."""
    return {
        code: a_piece(code, nominal, weight_class=weight_class, certificate=None)
        for code, nominal in (("A", "20"), ("B", "20"), ("C", "10"))
    }


@pytest.mark.parametrize(("weight_class", "verdict"), [("M1", "pass"), ("M2", "pass"), ("M3", "undecided")])
def test_weights_that_may_err_by_more_than_a_third_of_the_tolerance_decide_nothing(
    weight_class: str, verdict: str
) -> None:
    """50 kg, R 76 initial: 50 g; M2 7.6 g, M3 25 g (R 111-1 Table 1); one third R 76-1 3.7.1, from memory."""
    pieces = a_stack_of_50_kg(weight_class)

    point = the_point(
        a_reading("increasing", "50.00", tuple(pieces)),
        FINE,
        pieces,
        scheme_name="r76",
        purpose="initial",
        policy=NOMINAL,
    )

    assert point.verdict == verdict
    assert codes_of(point.reasons) == (["weights-too-coarse"] if verdict == "undecided" else [])


@pytest.mark.parametrize(
    ("weight_class", "shown", "times", "outcome"),
    [
        ("M1", "50.00", "0.0075", "good enough"),
        ("M2", "50.00", "0.0228", "good enough"),
        ("M3", "50.00", "0.075", "too coarse to decide it"),
        ("M3", "50.07", "0.075", "too coarse to decide it"),
        ("M3", "50.08", "0.075", "too coarse, but no weights would let it pass"),
    ],
)
def test_how_the_weights_were_held_against_the_tolerance_is_kept_whatever_came_of_it(
    weight_class: str, shown: str, times: str, outcome: str
) -> None:
    """M1 2.5 g, M2 7.6 g, M3 25 g (R 111-1 Table 1), three times that against 50 g; a third of it is 16.7 g."""
    pieces = a_stack_of_50_kg(weight_class)

    check = the_point(
        a_reading("increasing", shown, tuple(pieces)),
        FINE,
        pieces,
        scheme_name="r76",
        purpose="initial",
        policy=NOMINAL,
    ).weights_check

    assert check is not None
    assert (check.divisor, check.times_divisor_kg, check.outcome) == (Decimal(3), Decimal(times), outcome)
    assert check.allowed_kg == pytest.approx(0.05 / 3, rel=1e-15)


def test_without_weights_there_is_nothing_to_hold_against_the_tolerance() -> None:
    assert the_point(a_reading("zero set", "0.0", ())).weights_check is None


@pytest.mark.parametrize(("shown", "verdict"), [("50.07", "undecided"), ("50.08", "fail")])
def test_an_error_that_coarse_weights_cannot_explain_fails_all_the_same(shown: str, verdict: str) -> None:
    """Tolerance 50 g and weights within 25 g: beyond 75 g any weights would show a fail (own)."""
    pieces = a_stack_of_50_kg("M3")

    point = the_point(
        a_reading("increasing", shown, tuple(pieces)),
        FINE,
        pieces,
        scheme_name="r76",
        purpose="initial",
        policy=NOMINAL,
    )

    assert point.verdict == verdict


TEN = {"T10": a_piece("T10", "10")}


@pytest.mark.parametrize(
    ("purpose", "shown", "verdict"),
    [
        ("initial", "50.0", "undecided"),
        ("initial", "50.1", "undecided"),
        ("initial", "50.2", "fail"),
        ("scheduled", "50.0", "pass"),
        ("scheduled", "50.1", "undecided"),
        ("scheduled", "50.2", "undecided"),
        ("scheduled", "50.3", "fail"),
    ],
)
def test_a_plain_reading_under_r76_decides_only_where_its_rounding_cannot_turn_it(
    purpose: Purpose, shown: str, verdict: str
) -> None:
    """500 e: 0.5 e initial, 1 e in service (R 76-1:2006 Table 6); two roundings leave up to 1 d open (A.4.4.3)."""
    point = the_point(
        a_reading("increasing", shown, (*stack(40), "T10")),
        pieces=some_pieces() | TEN,
        scheme_name="r76",
        purpose=purpose,
    )

    assert point.verdict == verdict
    assert codes_of(point.reasons) == (["rounding-undecided"] if verdict == "undecided" else [])


@pytest.mark.parametrize(("shown", "verdict"), [("50.05", "pass"), ("50.06", "fail")])
def test_a_display_in_steps_of_a_tenth_of_e_decides_under_r76(shown: str, verdict: str) -> None:
    """OIML R 76-1:2006 3.5.3.2: d of at most 0.2 e needs no change-over points; 500 e initial: 0.05 kg."""
    point = the_point(
        a_reading("increasing", shown, (*stack(40), "T10")),
        FINE,
        some_pieces() | TEN,
        scheme_name="r76",
        purpose="initial",
    )

    assert point.verdict == verdict


def test_the_displayed_value_is_judged_under_hb44() -> None:
    """HB 44 practice, from memory: what the display shows counts, also for half a division at acceptance."""
    point = the_point(
        a_reading("increasing", "50.0", (*stack(40), "T10")), pieces=some_pieces() | TEN, purpose="initial"
    )

    assert point.tolerance is not None
    assert point.tolerance.kg == Decimal("0.05")
    assert point.verdict == "pass"


WIDE = Spread(0.0577, 2, "three weighings, invented")


def test_a_guard_band_wider_than_the_tolerance_leaves_the_point_undecided() -> None:
    """U is about 0.3 kg with two degrees of freedom, the tolerance 0.1 kg (200 e): ILAC-G8:09/2019 4.2.2 has no answer."""
    reading = a_reading("increasing", "20.0", stack(20))

    guarded, simple = (the_point(reading, policy=policy, spread=WIDE) for policy in (GUARDED, STARTING))

    assert guarded.budget is not None
    assert guarded.tolerance is not None
    assert guarded.budget.printed > guarded.tolerance.kg
    assert (guarded.verdict, codes_of(guarded.reasons)) == ("undecided", ["empty-acceptance-zone"])
    assert simple.verdict == "pass"


def test_the_guard_band_is_the_printed_uncertainty() -> None:
    """200 kg: 0.2 kg - 0.082 kg leaves 0.118 kg, so 0.1 kg passes and 0.2 kg does not (ILAC-G8:09/2019 4.2.2; own)."""
    points = [the_point(a_reading("increasing", shown, stack(200)), policy=GUARDED) for shown in ("200.1", "200.2")]

    assert [f"{p.budget.printed:f}" for p in points if p.budget] == ["0.082", "0.082"]
    assert [p.verdict for p in points] == ["pass", "fail"]


def names(point: PointJudgement) -> list[str]:
    """Return the names of the contributions of a point."""
    return [c.name for c in point.budget.contributions] if point.budget else []


@pytest.mark.parametrize(
    ("placed", "counts"), [(None, True), ("spread", True), ("stacked aside", True), ("one body centred", False)]
)
def test_eccentricity_enters_the_budget_only_where_the_centre_may_be_off(placed: Placed | None, counts: bool) -> None:
    """EURAMET cg-18 v4.0 7.1.1, from memory."""
    corners = eccentricity(corners=("100.1", "100.0", "100.0", "100.0"))

    point = the_point(a_reading("increasing", "200.0", stack(200), placed=placed), others=corners)

    assert ("eccentricity" in names(point)) is counts


def test_a_reading_at_a_corner_carries_no_doubt_about_its_place() -> None:
    corners = eccentricity(corners=("100.1", "100.0", "100.0", "100.0"))

    point = the_point(corners[0], others=corners[1:])

    assert "eccentricity" not in names(point)


def test_a_reading_without_load_has_the_roundings_only() -> None:
    point = the_point(a_reading("zero set", "0.0"), others=eccentricity())

    assert names(point) == ["rounding at zero", "rounding at load"]
    assert point.budget is not None
    assert point.budget.combined == pytest.approx(math.sqrt(2) * 0.1 / math.sqrt(12), rel=1e-12)


@pytest.mark.parametrize(
    ("arrangement", "selected", "at_zero"), [("multi-interval", None, "0.05"), ("multiple-range", 2, "0.1")]
)
def test_the_rounding_at_zero_is_that_of_the_range_in_which_zero_was_read(
    arrangement: str, selected: int | None, at_zero: str
) -> None:
    """OIML R 76-1:2006 3.3 and 3.4: the interval follows the load, or the range selected."""
    scale = a_scale([a_range("150", "0.05"), a_range("300", "0.1")], arrangement=arrangement)

    point = the_point(a_reading("increasing", "200.0", stack(200), range_selected=selected), scale)

    assert point.budget is not None
    zero, load = point.budget.contributions[:2]
    assert zero.share == pytest.approx(float(at_zero) / math.sqrt(12), rel=1e-12)
    assert load.share == pytest.approx(0.1 / math.sqrt(12), rel=1e-12)


def test_the_probability_beside_a_verdict_is_one_half_on_a_limit_far_from_the_other() -> None:
    """JCGM 106:2012 section 7: on one limit half of the distribution lies inside, if the other is far away."""
    point = the_point(a_reading("increasing", "300.3", stack(300)))

    assert point.verdict == "pass"
    assert point.probability == pytest.approx(0.5, abs=0.001)


@pytest.mark.parametrize(
    ("scheme_name", "shown", "verdict"),
    [
        ("hb44", "150.2", "pass"),
        ("hb44", "150.1", "undecided"),
        ("hb44", "150.0", "fail"),
        ("r76", "150.1", "pass"),
        ("r76", "150.0", "fail"),
    ],
)
def test_discrimination_asks_for_a_change_and_for_no_error(scheme_name: SchemeName, shown: str, verdict: str) -> None:
    """1.4 d change a digital reading (R 76-1:2006 3.8.2.2), by 2 d under HB 44 T.N.7.2; both from memory."""
    reading = a_reading("discrimination", shown, stack(100), before="150.0", added="0.14")

    point = the_point(reading, scheme_name=scheme_name)

    assert point.verdict == verdict
    assert (point.error_kg, point.tolerance, point.budget, point.probability) == (None, None, None, None)


@pytest.mark.parametrize(
    ("before", "added", "code"),
    [(None, "0.14", "no-change-recorded"), ("100.0", None, "no-change-recorded"), ("100.0", "0.2", "too-much-added")],
)
def test_discrimination_with_too_much_added_or_nothing_recorded_is_undecided(
    before: str | None, added: str | None, code: str
) -> None:
    point = the_point(a_reading("discrimination", "100.2", stack(100), before=before, added=added))

    assert (point.verdict, codes_of(point.reasons)) == ("undecided", [code])


def test_a_class_without_a_table_is_undecided() -> None:
    point = the_point(a_reading("increasing", "100.0", stack(100)), a_scale(accuracy_class="none"))

    assert (point.verdict, codes_of(point.reasons)) == ("undecided", ["no-table-value"])


def test_all_that_is_wrong_with_a_reading_is_told_at_once() -> None:
    point = the_point(a_reading("increasing", "320.05", (*stack(320), "X9")))

    assert codes_of(point.reasons) == ["no-reference-value", "over-capacity", "off-grid"]


@pytest.mark.parametrize("shown", ["160.0", "160.05"])
def test_the_same_indication_of_the_same_load_is_judged_like_the_first_in_everything(shown: str) -> None:
    """It is worked out once; what came out, the reasons included, belongs to each."""
    first = replace(a_reading("repeatability", shown, stack(160)), seq=1)
    again = replace(first, seq=2)

    found = judge(a_case(a_visit([first, again]))).as_found

    assert found is not None
    assert found.points[0].error_kg is not None
    assert found.points[1] == found.points[0]._replace(reading=again)
