"""Budgets against numbers drawn at random, each from its own distribution, with a fixed seed: JCGM 101:2008.

A first-order budget must have the standard uncertainty of the draws where the model is a sum; where it is not, as in the
buoyancy of a mass calibration, the published example says by how much it misses, and so do we.
"""

import math
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from tests.computing import computed, contributions, example

JCGM_101 = example("jcgm_101")
DRAWS = 200_000
SEED = 20081101
Drawn = NDArray[np.float64]

# From which distribution each term of the worked budgets comes; the others are normal.
RECTANGULAR = (
    "dig0",
    "digL",
    "ecc",
    "buoyancy",
    "drift",
    "convection",
    "mref",
    "difference of",
    "readability",
    "eccentricity",
)
BUDGETS = ("patient_scale_budget", "balance_budget", "ea_4_02_s2_weight", "weighing_budget_tartu", "gum_h1_end_gauge")


def draw(part: dict[str, Any], draws: np.random.Generator, count: int) -> Drawn:
    """One contribution as it is asked, drawn from its own distribution."""
    by = float(part.get("sensitivity", 1))
    if part.get("distribution") == "rectangular":
        half = float(part["half_width"])
        return by * draws.uniform(-half, half, count)
    u = float(part["standard_uncertainty"])
    if part["name"].startswith(RECTANGULAR):
        return by * draws.uniform(-u * math.sqrt(3), u * math.sqrt(3), count)
    return by * draws.normal(0, u, count)


def total(parts: list[dict[str, Any]], count: int = DRAWS) -> Drawn:
    draws = np.random.default_rng(SEED)
    return np.sum([draw(part, draws, count) for part in parts], axis=0)


def allowed(drawn: Drawn) -> float:
    """Four standard deviations of the relative standard deviation of so many draws, by their own kurtosis."""
    kurtosis = float(np.mean((drawn - drawn.mean()) ** 4) / drawn.var() ** 2)
    return 4 * math.sqrt((kurtosis - 1) / (4 * len(drawn)))


@pytest.mark.parametrize("name", BUDGETS)
def test_a_budget_has_the_standard_uncertainty_of_its_draws(name: str) -> None:
    parts = contributions(example(name))

    drawn = total(parts)

    assert abs(float(drawn.std()) / computed("uncertainty", {"contributions": parts})["combined"] - 1) < allowed(drawn)


@pytest.mark.parametrize("name", BUDGETS[:3])
def test_k_2_covers_at_least_95_percent_of_the_draws_of_a_weighing(name: str) -> None:
    """Rectangular terms have short tails, so that k = 2 is on the safe side where nothing limits the degrees."""
    parts = [
        {key: value for key, value in part.items() if key != "degrees_of_freedom"}
        for part in contributions(example(name))
    ]

    found = computed("uncertainty", {"contributions": parts})

    assert found["k"] == 2
    assert float(np.mean(np.abs(total(parts)) <= found["expanded"])) > 0.9525


@pytest.mark.parametrize("case", JCGM_101["cases"], ids=lambda c: c["id"])
def test_a_sum_of_four_has_the_published_first_order_and_drawn_uncertainties(case: dict[str, Any]) -> None:
    """JCGM 101:2008 9.2: the first order does not see that a rectangular distribution ends."""
    found = computed(
        "uncertainty", {"contributions": case["contributions"], "coverage": {"probability": JCGM_101["probability"]}}
    )

    assert f"{found['combined']:.1f}" == case["first_order"]["u"]
    assert f"{found['expanded']:.{len(case['first_order']['U'].partition('.')[2])}f}" == case["first_order"]["U"]
    drawn = total(case["contributions"], 1_000_000)
    assert f"{float(drawn.std()):.1f}" == case["drawn"]["u"]
    half_width = float(np.quantile(drawn, 0.975) - np.quantile(drawn, 0.025)) / 2
    assert half_width == pytest.approx(case["drawn"]["half_width"], abs=case["drawn"]["within"])


def test_the_first_order_of_a_mass_calibration_misses_29_percent_as_published() -> None:
    """JCGM 101:2008 9.3: at 1.2 kg/m3 no density counts at first order. Why buoyancy is bounded in our budgets."""
    case = JCGM_101["mass_calibration"]
    draws = np.random.default_rng(SEED)
    air, weight, reference = (draws.uniform(a, b, DRAWS) for a, b in ((1.10, 1.30), (7000, 9000), (7950, 8050)))
    placed = draws.normal(case["reference_mg"], 0.050, DRAWS) + draws.normal(case["difference_mg"], 0.020, DRAWS)

    first = computed(
        "uncertainty", {"contributions": case["contributions"], "coverage": {"probability": JCGM_101["probability"]}}
    )
    drawn = placed * (1 + (air - 1.2) * (1 / weight - 1 / reference)) - case["nominal_mg"]

    published = case["first_order"]
    assert round(first["combined"], 4) == published["u"]
    assert published["value"] - first["expanded"] == pytest.approx(published["from"], abs=1e-4)
    assert published["value"] + first["expanded"] == pytest.approx(published["to"], abs=1e-4)
    assert float(drawn.std()) == pytest.approx(case["exact_u"], rel=allowed(drawn))
    assert first["combined"] / case["exact_u"] == pytest.approx(1 - 0.29, abs=0.005)


def test_readings_give_the_spread_of_one_and_of_their_mean() -> None:
    """GUM (JCGM 100:2008) 4.2.2 and 4.2.3, against numpy's estimate."""
    readings = np.random.default_rng(SEED).normal(100, 0.05, 12).round(3)
    asked = {"name": "readings", "readings": [f"{r:.3f}" for r in readings]}

    single, mean = (computed("uncertainty", {"contributions": [asked | {"mean": of}]}) for of in (False, True))

    assert single["combined"] == pytest.approx(float(readings.std(ddof=1)), rel=1e-10)
    assert mean["combined"] == pytest.approx(float(readings.std(ddof=1)) / math.sqrt(12), rel=1e-10)
    assert single["effective_degrees_of_freedom"] == pytest.approx(11, rel=1e-12)


@pytest.mark.parametrize(("distribution", "drawn"), [
    ("rectangular", lambda d: d.uniform(-3, 3, DRAWS)),
    ("triangular", lambda d: d.triangular(-3, 0, 3, DRAWS)),
    ("arcsine", lambda d: 3 * np.sin(d.uniform(0, 2 * np.pi, DRAWS))),
    ("normal", lambda d: d.normal(0, 3 / 2.5, DRAWS)),
])  # fmt: skip
def test_a_half_width_has_the_standard_uncertainty_of_its_distribution(distribution: str, drawn: Any) -> None:
    """JCGM 101:2008 6.4: drawn each in its own way."""
    part = {"name": "one", "half_width": "3", "distribution": distribution} | (
        {"k": "2.5"} if distribution == "normal" else {}
    )
    values = drawn(np.random.default_rng(SEED))

    found = computed("uncertainty", {"contributions": [part]})

    assert abs(float(values.std()) / found["combined"] - 1) < allowed(values)
