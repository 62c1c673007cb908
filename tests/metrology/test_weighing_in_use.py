"""A weighing in use: GTC beside the budget, a seeded simulation of the weighing itself, and what holds at every load."""

import math
from dataclasses import replace
from decimal import Decimal

import GTC
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.metrology.error_line import error_line
from api.metrology.refusals import OverCapacity
from api.metrology.rounding import printed_uncertainty
from api.metrology.weighing_in_use import (
    HALF_DIFFERENCE,
    Surroundings,
    linear_bound,
    weighing_in_use,
)
from tests.metrology.a_behaviour import TWO_INTERVALS, a_behaviour

READINGS = st.decimals("1", "200", places=1)


def test_the_budget_is_the_one_that_another_library_adds_up() -> None:
    """GTC 1.5.1, with the contributions of cg-18 7.4 written out here a second time."""
    behaviour, reading = a_behaviour(degrees=4), Decimal(120)
    u_slope = 1 / math.sqrt(sum(load**2 / 0.06**2 for load in (50, 100, 150, 200)))
    parts = [
        GTC.ureal(0, 0.1 / math.sqrt(12)), GTC.ureal(0, 0.1 / math.sqrt(12)), GTC.ureal(0, 0.03, 4),
        GTC.ureal(0, 0.1 / (60 * math.sqrt(3)) * 120), GTC.ureal(0, u_slope * 120),
    ]  # fmt: skip
    total = sum(parts[1:], parts[0])

    budget = weighing_in_use(reading, behaviour).budget

    assert budget.combined == pytest.approx(total.u, rel=1e-12)
    assert budget.effective_degrees_of_freedom == pytest.approx(total.df, rel=1e-9)


@pytest.mark.parametrize("reading", ["0", "5", "70", "120", "200"])
def test_u_is_what_a_simulation_of_weighings_shows(reading: str) -> None:
    """Monte Carlo (JCGM 101:2008), 200 000 weighings, seeded: rounding and place rectangular, spread and line normal."""
    draws, load = 200_000, float(reading)
    behaviour = a_behaviour()
    luck = np.random.default_rng(20261125)
    simulated = (
        luck.uniform(-0.05, 0.05, draws)
        + luck.uniform(-0.05, 0.05, draws)
        + luck.normal(0, 0.03, draws)
        + luck.uniform(-1, 1, draws) * 0.1 / 60 * load
        + luck.normal(0, behaviour.line.at(load)[1], draws)
    )
    kurtosis = float((simulated**4).mean() / (simulated**2).mean() ** 2)

    budget = weighing_in_use(Decimal(reading), behaviour).budget

    four_standard_errors = 4 * math.sqrt((kurtosis - 1) / (4 * draws))
    assert budget.combined == pytest.approx(float(simulated.std()), rel=four_standard_errors)
    # Sums of rectangular parts have thinner tails than the normal distribution, so k = 2 covers 95.45 % or more.
    assert float((np.abs(simulated) <= budget.expanded).mean()) >= 0.952


def test_with_the_error_left_in_u_is_larger_by_the_error() -> None:
    weighing = weighing_in_use(Decimal(100), a_behaviour(slope=-0.002))

    assert weighing.error_kg == Decimal("-0.20")
    assert weighing.uncorrected_kg == printed_uncertainty(weighing.budget.expanded + 0.2)
    assert weighing.percent == printed_uncertainty(float(weighing.uncorrected_kg))  # of 100 kg


def test_nothing_can_be_said_in_percent_of_zero() -> None:
    assert weighing_in_use(Decimal(0), a_behaviour()).percent is None


def test_the_place_of_the_load_counts_whole_or_half_as_it_is_asked_for() -> None:
    behaviour = a_behaviour()

    def of_place(divisor: int) -> float:
        budget = weighing_in_use(Decimal(60), behaviour, eccentricity_divisor=divisor).budget
        (part,) = (c for c in budget.contributions if c.name == "eccentricity in use")
        return part.standard_uncertainty

    assert of_place(1) == pytest.approx(0.1 / math.sqrt(3))
    assert of_place(HALF_DIFFERENCE) == pytest.approx(0.1 / (2 * math.sqrt(3)))


def test_a_scale_without_corner_readings_has_no_part_for_the_place() -> None:
    names = {c.name for c in weighing_in_use(Decimal(60), a_behaviour(corner_kg=None)).budget.contributions}

    assert names == {"rounding at zero", "rounding at load", "repeatability", "error line"}


def test_the_surroundings_count_where_they_are_told() -> None:
    """cg-18 7.4: K_T dT / sqrt 12; 10 % of the air's density is 1.5e-5 / sqrt 3; |dE(Max)| / (Max sqrt 3)."""
    told = Surroundings(5e-6, 10, air_density_share=0.1, span_drift=0.0005)

    budget = weighing_in_use(Decimal(100), a_behaviour(), surroundings=told).budget

    u = {c.name: c.standard_uncertainty for c in budget.contributions}
    assert u["temperature"] == pytest.approx(5e-5 / math.sqrt(12) * 100)
    assert u["air density"] == pytest.approx(1.5e-5 / math.sqrt(3) * 100)
    assert u["drift of the span"] == pytest.approx(0.0005 / math.sqrt(3) * 100)


def test_a_reading_above_the_highest_range_is_refused() -> None:
    with pytest.raises(OverCapacity) as refused:
        weighing_in_use(Decimal("200.1"), a_behaviour())

    assert refused.value.facts == {"load": "200.1 kg", "capacity": "200 kg"}


@given(READINGS, READINGS)
def test_u_grows_with_the_reading(one: Decimal, other: Decimal) -> None:
    low, high = sorted((one, other))
    behaviour = a_behaviour()

    assert weighing_in_use(low, behaviour).budget.expanded <= weighing_in_use(high, behaviour).budget.expanded


@given(READINGS | st.just(Decimal(150)))
def test_two_divisions_on_the_way_make_the_only_jump(reading: Decimal) -> None:
    behaviour = a_behaviour(ranges=TWO_INTERVALS)
    step = Decimal("0.001")

    here, next_ = (weighing_in_use(r, behaviour).budget.combined for r in (reading, reading + step))

    assert (next_ - here < 1e-4) is not (reading <= 150 < reading + step)


@given(READINGS, st.sampled_from([1000, 2.2046226]))
def test_the_unit_changes_nothing_but_the_numbers(reading: Decimal, factor: float) -> None:
    here = weighing_in_use(reading, a_behaviour(corner_kg=None))
    scaled = Decimal(str(factor))
    ranges = tuple(replace(r, max=r.max * scaled, d=r.d * scaled, e=r.e * scaled) for r in a_behaviour().ranges)
    other = a_behaviour(s_kg=0.03 * factor, corner_kg=None, ranges=ranges)
    points = tuple(
        replace(p, load_kg=p.load_kg * factor, error_kg=p.error_kg * factor, u_kg=p.u_kg * factor)
        for p in other.line.points
    )
    there = weighing_in_use(reading * scaled, replace(other, line=error_line(points)))

    assert there.budget.combined == pytest.approx(here.budget.combined * factor, rel=1e-9)
    assert there.budget.k == here.budget.k


@pytest.mark.parametrize("ranges", [None, TWO_INTERVALS])
def test_the_linear_bound_is_never_below_the_curve(ranges: tuple[object, ...] | None) -> None:
    behaviour = a_behaviour(ranges=TWO_INTERVALS) if ranges else a_behaviour()
    loads = [Decimal(n) for n in (2, 20, 60, 100, 150, 151, 180, 200)]

    bound = linear_bound(behaviour, loads)

    for load in loads:
        weighing = weighing_in_use(load, behaviour)
        curve = weighing.budget.expanded + abs(behaviour.line.at(float(load))[0])
        assert bound.at(float(load)) >= curve - 1e-12
    assert bound.alpha_kg == pytest.approx(weighing_in_use(Decimal(0), behaviour).budget.expanded)


def test_with_one_division_the_linear_bound_touches_the_curve_at_the_highest_load() -> None:
    behaviour = a_behaviour()

    bound = linear_bound(behaviour, [Decimal(50), Decimal(200)])

    top = weighing_in_use(Decimal(200), behaviour)
    assert bound.at(200) == pytest.approx(top.budget.expanded + 0.0005 * 200)
