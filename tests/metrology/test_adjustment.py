"""The span adjustment: how heavy its load was, in the unit it was adjusted in.

At least half the capacity, 70 to 100 % advised: common practice, no source.
"""

from dataclasses import replace
from decimal import Decimal

import pytest

from api.metrology.adjustment import judge_span, least_span_load, span_load
from api.metrology.mass import Mass
from api.metrology.policy import STARTING
from api.metrology.refusals import NoReferenceValue, NoSuchRange
from api.metrology.scale import Range, Scale
from api.metrology.submission import Adjustment
from api.metrology.terms import AdjustmentType
from tests.metrology.a_case import a_piece
from tests.metrology.loads_placed import PLAIN, kg

# The dual-unit stand-on scale: 600 lb by 0.2 lb and 300 kg by 0.1 kg. 600 lb is 272.155422 kg exactly (NIST HB 44
# Appendix C, 0.453 592 37 kg a pound): two capacities, one platform.
DUAL = Scale(
    "stand-on", "III", "single",
    (
        Range("kg", Decimal(300), Decimal("0.1"), Decimal("0.1")),
        Range("[lb_av]", Decimal(600), Decimal("0.2"), Decimal("0.2")),
    ),
)  # fmt: skip


def pounds(text: str) -> Mass:
    return Mass(Decimal(text), "[lb_av]")


def a_span(load: Mass, kind: AdjustmentType = "span") -> Adjustment:
    return Adjustment(kind, load)


def test_the_least_span_load_belongs_to_its_unit_and_is_never_converted() -> None:
    in_kg, in_pounds = (least_span_load(DUAL, unit, STARTING) for unit in ("kg", "[lb_av]"))

    assert (in_kg.value, in_kg.unit) == (Decimal(150), "kg")
    assert (in_pounds.value, in_pounds.unit) == (Decimal(300), "[lb_av]")
    assert in_pounds.kg == Decimal("136.077711")


@pytest.mark.parametrize(
    ("load", "heavy", "words"),
    [
        ("149.9", False, "below the 50 % that the policy asks for"),
        ("150", True, "enough, but 70 % or more is advised"),
        ("209.9", True, "enough, but 70 % or more is advised"),
        ("210", True, "as advised."),
        ("300", True, "as advised."),
    ],
)
def test_half_the_capacity_is_enough_and_from_seventy_per_cent_it_is_as_advised(
    load: str, heavy: bool, words: str
) -> None:
    found = span_load(a_span(kg(load)), PLAIN, {}, STARTING)

    assert (found.load_kg, found.capacity_kg, found.heavy_enough) == (Decimal(load), Decimal(300), heavy)
    assert words in found.sentence


def test_what_is_only_common_practice_says_so() -> None:
    for load in ("100", "160"):
        assert "(common practice, no source)" in span_load(a_span(kg(load)), PLAIN, {}, STARTING).sentence


@pytest.mark.parametrize(
    ("load", "heavy", "capacity"),
    [
        (pounds("300"), True, "600 lb"),
        (pounds("299.8"), False, "600 lb"),
        (kg("140"), False, "300 kg"),  # enough of 600 lb, not of 300 kg
    ],
)
def test_the_span_load_is_held_against_the_capacity_of_its_own_unit(load: Mass, heavy: bool, capacity: str) -> None:
    found = span_load(a_span(load), DUAL, {}, STARTING)

    assert found.heavy_enough is heavy
    assert f"of {capacity}" in found.sentence


def test_the_pieces_named_are_the_load() -> None:
    pieces = {code: a_piece(code, code) for code in ("100", "60")}

    found = span_load(Adjustment("span", kg("160"), ("100", "60")), PLAIN, pieces, STARTING)

    assert (found.load_kg, found.heavy_enough) == (Decimal(160), True)


def test_the_owners_own_share_counts() -> None:
    strict = replace(STARTING, least_span_share=Decimal("0.8"), advised_span_share=Decimal("0.9"))

    found = span_load(a_span(kg("230")), PLAIN, {}, strict)

    assert found.heavy_enough is False
    assert "below the 80 %" in found.sentence


def test_the_span_load_tells_its_share_and_the_loads_it_was_held_against() -> None:
    found = span_load(a_span(pounds("400")), DUAL, {}, STARTING)

    assert found.share == pytest.approx(2 / 3, rel=1e-15)
    assert (found.least_share, found.least_kg) == (Decimal("0.5"), Decimal("136.077711"))  # 300 lb
    assert (found.advised_share, found.advised_kg) == (Decimal("0.7"), Decimal("190.5087954"))  # 420 lb
    assert "at least half the capacity" in found.least_source
    assert "70 to 100 %" in found.advised_source


def test_a_policy_without_a_source_line_says_that_it_names_none() -> None:
    found = span_load(a_span(kg("230")), PLAIN, {}, replace(STARTING, sources=()))

    assert (found.least_source, found.advised_source) == ("the policy names no source", "the policy names no source")


def test_a_span_without_a_load_is_no_load_at_all() -> None:
    found = span_load(Adjustment("span"), PLAIN, {}, STARTING)

    assert (found.load_kg, found.heavy_enough) == (Decimal(0), False)


def test_pieces_that_are_not_on_the_register_and_units_not_shown_are_refused() -> None:
    with pytest.raises(NoReferenceValue):
        span_load(Adjustment("span", kg("160"), ("W9",)), PLAIN, {}, STARTING)
    with pytest.raises(NoSuchRange):
        span_load(a_span(pounds("500")), PLAIN, {}, STARTING)


def test_a_refused_span_load_becomes_a_flag_at_its_place() -> None:
    adjustments = [Adjustment("zero", platform_empty=True), Adjustment("span", kg("160"), ("W9",))]

    span, flags = judge_span(adjustments, PLAIN, {}, STARTING)

    assert span is None
    assert [(flag.code, flag.pointer) for flag in flags] == [("no-reference-value", "#/adjustments/1")]


def test_too_light_a_span_load_is_flagged_with_its_facts() -> None:
    span, flags = judge_span([a_span(kg("100"))], PLAIN, {}, STARTING)

    assert span is not None
    assert not span.heavy_enough
    assert [(flag.code, flag.facts) for flag in flags] == [
        ("span-load-too-light", {"load": "100 kg", "capacity": "300 kg"})
    ]


def test_a_later_span_adjustment_replaces_an_earlier_one_even_a_heavier_one() -> None:
    span, flags = judge_span([a_span(kg("280")), a_span(kg("60"))], PLAIN, {}, STARTING)

    assert span is not None
    assert span.load_kg == Decimal(60)
    assert [flag.code for flag in flags] == ["span-load-too-light"]


def test_of_the_loads_of_a_linearity_adjustment_the_heaviest_counts() -> None:
    loads = [a_span(kg(load), "linearity") for load in ("100", "280", "200")]

    span, flags = judge_span(loads, PLAIN, {}, STARTING)

    assert span is not None
    assert (span.load_kg, flags) == (Decimal(280), ())


@pytest.mark.parametrize("kind", ["zero", "corner", "gravity setting", "internal", "repair part"])
def test_other_adjustments_have_no_span_load(kind: AdjustmentType) -> None:
    assert judge_span([a_span(kg("10"), kind)], PLAIN, {}, STARTING) == (None, ())


def test_a_stated_load_that_the_pieces_do_not_add_up_to_is_flagged_and_the_pieces_count() -> None:
    span, flags = judge_span([Adjustment("span", kg("300"), ("160",))], PLAIN, {"160": a_piece("160", "160")}, STARTING)

    assert span is not None
    assert span.load_kg == Decimal(160)
    assert [(flag.code, flag.facts) for flag in flags] == [
        ("load-differs-from-pieces", {"load": "300 kg", "pieces": "160 kg"})
    ]
