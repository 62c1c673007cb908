"""What holds for every uncertainty, probability and decision: units, signs, and where U may jump."""

import math
from decimal import Decimal
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.metrology.contributions import Corners, eccentricity, rounding_at_load, rounding_at_zero
from api.metrology.decision import Limits, probability_of_conformity, verdict_within
from api.metrology.mass import EXACT, KILOGRAMS_PER
from api.metrology.scale import Range, Scale, range_in_use
from api.metrology.uncertainty import budget_of
from tests.computing import computed

figures = st.integers(-100_000, 100_000).map(lambda n: Decimal(n).scaleb(-3))
sizes = st.integers(1, 100_000).map(lambda n: Decimal(n).scaleb(-3))
factors = st.sampled_from([Decimal(1000), Decimal(10**6), *KILOGRAMS_PER.values()])
RANK: Any = ["pass", "conditional pass", "conditional fail", "fail"].index


@given(figures, sizes, sizes, factors, st.one_of(st.just(math.inf), st.floats(1, 100)))
def test_a_probability_does_not_depend_on_the_unit(
    error: Decimal, u: Decimal, tolerance: Decimal, factor: Decimal, degrees: float
) -> None:
    """`in_unit` converts all four exactly before they become floats."""
    one = probability_of_conformity(float(error), float(u), -float(tolerance), float(tolerance), degrees)
    scaled = [float(EXACT.multiply(x, factor)) for x in (error, u, tolerance)]

    other = probability_of_conformity(scaled[0], scaled[1], -scaled[2], scaled[2], degrees)

    assert other == pytest.approx(one, abs=1e-12)


@given(figures, figures, sizes, factors, st.sampled_from(["two", "four"]))
def test_a_verdict_within_limits_does_not_depend_on_the_unit(
    value: Decimal, middle: Decimal, half: Decimal, factor: Decimal, zones: Any
) -> None:
    limits, guard = (middle - half, middle + half), half / 4

    one = verdict_within(value, Limits(*limits), guard, zones)
    scaled = [EXACT.multiply(x, factor) for x in (*limits, value, guard)]

    assert verdict_within(scaled[2], Limits(scaled[0], scaled[1]), scaled[3], zones) == one


@given(figures, sizes, sizes)
def test_a_value_nearer_the_middle_never_has_a_worse_verdict(value: Decimal, half: Decimal, guard: Decimal) -> None:
    limits, width = Limits(-half, half), min(guard, half)

    far, near = (verdict_within(x, limits, width, "four") for x in (value, value / 2))

    assert RANK(near) <= RANK(far)


def at(load_kg: Decimal, corners: Corners) -> float:
    """U at a load of the multi-interval scale of R 76-1 3.3, nothing limiting the degrees of freedom."""
    ranges = tuple(
        Range("g", *map(Decimal, sizes)) for sizes in (("2000", "1", "1"), ("5000", "2", "2"), ("15000", "10", "10"))
    )
    scale = Scale("stand-on", "III", "multi-interval", ranges)
    in_use = range_in_use(scale, "g", load_kg)
    parts = [rounding_at_zero(ranges[0].d_kg), rounding_at_load(in_use.d_kg), eccentricity(corners, load_kg)]
    return budget_of(parts).expanded


def test_u_along_the_load_jumps_at_the_ends_of_partial_ranges_and_nowhere_else() -> None:
    """The reading's rounding is that of the range in use (OIML R 76-1:2006 3.3); all else grows with the load."""
    corners = Corners(Decimal("0.001"), Decimal(5))
    grams = [Decimal(n) / 1000 for n in range(0, 15_001, 5)]
    steepest = 2 * corners.relative * 0.005 * (1 + 1e-9)

    jumps = [(a, b) for a, b in pairwise(grams) if at(b, corners) - at(a, corners) > steepest]

    assert jumps == [(Decimal(2), Decimal("2.005")), (Decimal(5), Decimal("5.005"))]
    assert all(at(b, corners) >= at(a, corners) for a, b in pairwise(grams))


@given(
    st.lists(st.tuples(sizes, st.one_of(st.none(), st.integers(1, 60))), min_size=1, max_size=5),
    st.sampled_from([1000, 10**6]),
)
def test_the_calculator_answers_in_the_unit_it_was_asked_in(
    parts: list[tuple[Decimal, int | None]], factor: int
) -> None:
    def asked(times: int) -> dict[str, Any]:
        return {"contributions": [
            {"name": "a", "standard_uncertainty": f"{u * times:f}"} | ({} if nu is None else {"degrees_of_freedom": nu})
            for u, nu in parts
        ]}  # fmt: skip

    one, other = computed("uncertainty", asked(1)), computed("uncertainty", asked(factor))

    assert other["combined"] == pytest.approx(factor * one["combined"], rel=1e-12)
    degrees = one.get("effective_degrees_of_freedom", math.inf)
    assert other.get("effective_degrees_of_freedom", math.inf) == pytest.approx(degrees, rel=1e-12)
    if math.isinf(degrees) or abs(degrees - round(degrees)) > 1e-9 * degrees:
        assert other["k"] == one["k"]


@given(figures, sizes, sizes, st.sampled_from(["0", "0.5", "1"]))
def test_the_calculator_s_limits_lie_the_printed_guard_band_inside(
    value: Decimal, u: Decimal, half: Decimal, r: str
) -> None:
    """An auditor adds up what is printed and comes to the same verdict."""
    half += 10 * u  # wide enough for any of the bands
    asked = {"value": f"{value:f}", "standard_uncertainty": f"{u:f}", "lower": f"{-half:f}", "upper": f"{half:f}"}

    found = computed("conformity", asked | {"guard_band": {"r": r}})

    width = Decimal(found["decided_on"]["printed_uncertainty"]) * Decimal(r)
    lower, upper = (Decimal(found["acceptance_limits"][end]) for end in ("lower", "upper"))
    assert (lower, upper) == (width - half, half - width)
    assert found["verdict"] == ("pass" if lower <= value <= upper else "fail")
