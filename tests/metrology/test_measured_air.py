"""The air of a visit: which readings count, how well its density is known, and when it is not known at all."""

import math
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.metrology.air import air_density_cipm_2007, density_slopes
from api.metrology.measured_air import MeasuredAir, measured_air
from api.metrology.submission import Air, Environment

HEIGHT = Decimal(120)


def an_air(temperature: str | None = "20", pressure: str | None = "1013.25", humidity: str | None = "50") -> Air:
    t, p, h = (None if text is None else Decimal(text) for text in (temperature, pressure, humidity))
    return Air(t, None, h, p)


def measured(*moments: Air, height: Decimal | None = HEIGHT) -> MeasuredAir:
    found = measured_air(Environment(*moments), height)
    assert found is not None
    return found


def test_the_density_is_that_of_cipm_2007_to_five_decimals() -> None:
    """Picard et al. (2008) at 20 C, 1013.25 hPa and 50 %: 1.19931."""
    assert measured(an_air()).density == Decimal("1.19931")


def test_the_mean_of_start_and_end_counts_and_half_their_difference_widens_each() -> None:
    found = measured(an_air("20", "1000", "40"), an_air("24", "1004", "50"))

    assert (found.temperature_c.value, found.temperature_c.half_width) == (22.0, 1.0 + 2.0)
    assert (found.pressure_hpa.value, found.pressure_hpa.half_width) == (1002.0, 2.0 + 2.0)
    assert (found.humidity_pct.value, found.humidity_pct.half_width) == (45.0, 10.0 + 5.0)


def test_u_is_the_root_of_the_squares_of_three_rectangles_and_the_formula() -> None:
    """Worked by hand from ideal gas: 1 K of 293.15, 2 hPa of 1013.25, 10 % of 1.04e-4 a per cent, 22e-6 of the formula."""
    by_hand = math.hypot(1.1993 * 1.08 / 293.15, 1.1993 * 2 / 1013.25, 10 * 1.04e-4) / math.sqrt(3)

    assert float(measured(an_air()).u) == pytest.approx(by_hand, rel=0.03)


def test_a_humidity_that_was_not_read_may_be_any() -> None:
    found = measured(an_air(humidity=None))

    assert (found.humidity_pct.value, found.humidity_pct.half_width) == (50, 50)
    assert found.u > measured(an_air()).u


def test_a_pressure_that_was_not_read_is_that_of_the_height_with_the_weather_about_it() -> None:
    found = measured(an_air(pressure=None), height=Decimal(1600))

    assert found.pressure_hpa.half_width == 40
    assert found.pressure_hpa.value == pytest.approx(1013.25 * 0.9964 / 1.2, rel=2e-3)  # R 111 E.3 at 1600 m
    assert "height" in found.pressure_hpa.source


@pytest.mark.parametrize(
    ("environment", "height"),
    [(None, HEIGHT), (Environment(), HEIGHT), (Environment(an_air(temperature=None)), HEIGHT),
     (Environment(an_air(pressure=None)), None)],
)  # fmt: skip
def test_without_a_temperature_or_any_pressure_nothing_was_measured(
    environment: Environment | None, height: Decimal | None
) -> None:
    assert measured_air(environment, height) is None


def test_outside_the_range_of_the_formula_its_uncertainty_is_wider_and_said() -> None:
    within, outside = measured(an_air("27")), measured(an_air("36"))

    assert "outside its range" in outside.source
    assert "outside" not in within.source
    assert outside.u > within.u


@given(st.floats(15, 27), st.floats(700, 1090), st.floats(5, 95))
def test_the_slopes_are_those_of_the_full_formula_within_a_twentieth(t: float, p: float, h: float) -> None:
    """Differences of CIPM-2007 over small steps: another formula than the one the slopes are taken from."""
    climate, steps = (t, p, h), (0.01, 0.01, 0.1)

    slopes = density_slopes(*climate)

    for place, step in enumerate(steps):
        up, down = (
            air_density_cipm_2007(*(c + side * step * (n == place) for n, c in enumerate(climate))) for side in (1, -1)
        )
        assert slopes[place] == pytest.approx((up - down) / (2 * step), rel=0.05)
