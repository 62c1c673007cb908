"""The range in use, and the grid of the display."""

import json
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.metrology.mass import in_kilograms
from api.metrology.refusals import NoSuchRange, OffGrid, OverCapacity
from api.metrology.scale import (
    Arrangement,
    Range,
    Scale,
    beyond_display,
    capacity_in,
    display_range,
    grid_count,
    least_load_proven,
    range_in_use,
)

GRID = json.loads((Path(__file__).parents[1] / "worked_examples" / "exact_grid.json").read_text())


def a_range(maximum: str, division: str, unit: str = "kg", least: str | None = None) -> Range:
    return Range(unit, Decimal(maximum), Decimal(division), Decimal(division), Decimal(least) if least else None)


def a_scale(*ranges: Range, arrangement: Arrangement = "single") -> Scale:
    return Scale("stand-on", "III", arrangement, ranges or (a_range("300", "0.1"),))


def three_ranges(arrangement: Arrangement) -> Scale:
    """The instrument of OIML R 76-1:2006 3.3: Max 2/5/15 kg, e 1/2/10 g."""
    return a_scale(
        a_range("2000", "1", "g"), a_range("5000", "2", "g"), a_range("15000", "10", "g"), arrangement=arrangement
    )


@pytest.mark.parametrize(
    ("load_kg", "division"),
    [("0", "1"), ("1.999", "1"), ("2", "1"), ("2.001", "2"), ("5", "2"), ("5.001", "10"), ("15", "10")],
)
def test_the_range_follows_the_load_and_a_partial_max_belongs_to_the_finer_range(load_kg: str, division: str) -> None:
    scale = three_ranges("multi-interval")

    in_use = range_in_use(scale, "g", Decimal(load_kg))

    assert in_use.d == Decimal(division)


def test_a_multiple_range_scale_uses_the_range_selected_even_at_a_light_load() -> None:
    scale = three_ranges("multiple-range")

    in_use = range_in_use(scale, "g", Decimal("0.4"), selected=3)

    assert in_use.e == Decimal(10)


def test_a_load_above_the_selected_range_is_refused_although_the_scale_could_carry_it() -> None:
    scale = three_ranges("multiple-range")

    with pytest.raises(OverCapacity):
        range_in_use(scale, "g", Decimal("2.001"), selected=1)


@pytest.mark.parametrize("selected", [0, 4, -1])
def test_a_range_that_is_not_there_cannot_be_selected(selected: int) -> None:
    with pytest.raises(NoSuchRange):
        range_in_use(three_ranges("multiple-range"), "g", Decimal("0.4"), selected=selected)


def test_a_selection_means_nothing_on_a_multi_interval_scale() -> None:
    in_use = range_in_use(three_ranges("multi-interval"), "g", Decimal("0.4"), selected=3)

    assert in_use.e == Decimal(1)


def test_a_load_at_max_is_within_capacity_and_one_division_more_is_not() -> None:
    scale = a_scale()

    assert range_in_use(scale, "kg", Decimal(300)).max == Decimal(300)
    with pytest.raises(OverCapacity, match="above the capacity of 300 kg"):
        range_in_use(scale, "kg", Decimal("300.1"))


def test_the_capacity_in_pounds_is_not_the_capacity_in_kilograms() -> None:
    scale = a_scale(a_range("300", "0.1"), a_range("600", "0.2", "[lb_av]"))

    assert capacity_in(scale, "kg").max_kg == Decimal(300)
    assert capacity_in(scale, "[lb_av]").max_kg == Decimal("272.155422")
    with pytest.raises(OverCapacity):
        range_in_use(scale, "[lb_av]", Decimal("272.2"))


def test_a_unit_the_scale_cannot_show_is_refused_with_those_it_can() -> None:
    scale = a_scale(a_range("300", "0.1"), a_range("600", "0.2", "[lb_av]"))

    with pytest.raises(NoSuchRange, match=r"no range in oz; it shows kg, lb\."):
        scale.ranges_in("[oz_av]")


def test_the_divisions_of_a_range_in_pounds_are_exact_in_kilograms() -> None:
    in_pounds = a_range("1000", "0.2", "[lb_av]")

    assert in_pounds.d_kg == in_pounds.e_kg == Decimal("0.090718474")


def test_a_display_above_max_goes_on_in_the_last_division() -> None:
    scale = three_ranges("multi-interval")

    assert display_range(scale, "g", Decimal("15.05")).d == Decimal(10)


@pytest.mark.parametrize(
    ("maximum", "e", "last"),
    [("15", "0.01", "15.75"), ("10", "0.1", "10.9")],  # 105 % of Max, then Max + 9 e
)
def test_a_display_does_not_go_on_for_ever_above_max(maximum: str, e: str, last: str) -> None:
    """OIML R 76-1:2006 4.2.3; NIST HB 44 2.20 S.1.7, second hand."""
    top = a_range(maximum, e)

    beyond = beyond_display(top, Decimal(last) + Decimal("0.001"))

    assert beyond_display(top, Decimal(last)) is None
    assert beyond is not None
    assert (beyond.code, beyond.facts) == ("over-capacity", {"capacity": f"{maximum} kg"})


def test_a_display_below_zero_counts_by_its_size() -> None:
    scale = three_ranges("multi-interval")

    assert [display_range(scale, "g", Decimal(kg)).d for kg in ("-0.004", "-4", "-14")] == [1, 2, 10]


@pytest.mark.parametrize("case", GRID["grid"], ids=lambda c: f"{c['reading']} on {c['division']}, own")
def test_a_reading_on_the_grid_is_a_whole_number_of_divisions(case: dict[str, str]) -> None:
    found = grid_count(Decimal(case["reading"]), Decimal(case["division"]))

    assert found == int(case["count"])


def test_binary_floats_would_call_most_tenths_off_the_grid() -> None:
    readings = [Decimal(n).scaleb(-1) for n in range(1, 2001)]

    refused_by_floats = sum(float(reading) % 0.1 != 0 for reading in readings)

    assert refused_by_floats > 1900
    assert [grid_count(reading, Decimal("0.1")) for reading in readings] == list(range(1, 2001))


@pytest.mark.parametrize(("reading", "division"), [("100.05", "0.1"), ("0.001", "0.1"), ("7", "2"), ("-0.05", "0.1")])
def test_a_reading_between_two_divisions_is_refused(reading: str, division: str) -> None:
    with pytest.raises(OffGrid) as refused:
        grid_count(Decimal(reading), Decimal(division))

    assert refused.value.facts == {"reading": reading, "division": division}


@given(st.integers(-20_000, 20_000), st.sampled_from(["1", "2", "5"]), st.integers(-4, 1))
def test_counting_divisions_undoes_multiplying_by_them(count: int, digit: str, power: int) -> None:
    division = Decimal(digit).scaleb(power)

    assert grid_count(count * division, division) == count


def test_min_is_in_kilograms_and_0_where_none_is_marked() -> None:
    marked = a_scale(a_range("20", "0.005", least="0.1"))

    assert least_load_proven(marked, "kg") == Decimal("0.1")
    assert least_load_proven(a_scale(), "kg") == 0
    assert least_load_proven(a_scale(a_range("40", "0.01", "[lb_av]", "1")), "[lb_av]") == in_kilograms(
        Decimal(1), "[lb_av]"
    )
