"""Global risks against the published example, two integrators and a seeded Monte Carlo run."""

import json
import math
from pathlib import Path
from typing import Any

import mpmath
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats
from scipy.integrate import quad

from api.metrology.risk import Between, Process, global_risk

EXAMPLE: dict[str, Any] = json.loads(
    (Path(__file__).parents[1] / "worked_examples" / "global_risk.json").read_text(encoding="utf-8")
)


def given_by(case: dict[str, Any]) -> tuple[Process, float, Between, Between]:
    lower, upper, width = (float(case[name]) for name in ("lower", "upper", "guard_band"))
    process = Process(float(case["mean"]), float(case["standard_deviation"]))
    tolerance, accepted = Between(lower, upper), Between(lower + width, upper - width)
    return process, float(case["standard_uncertainty"]), tolerance, accepted


@pytest.mark.parametrize("case", EXAMPLE["cases"], ids=lambda c: c["id"])
def test_the_risks_are_those_of_the_example(case: dict[str, Any]) -> None:
    """JCGM 106:2012 section 9."""
    found = global_risk(*given_by(case))

    assert round(found.consumer, 6) == case["consumer"]
    assert round(found.producer, 6) == case["producer"]


@pytest.mark.parametrize("case", EXAMPLE["cases"], ids=lambda c: c["id"])
def test_the_risks_agree_with_scipy_s_integrator(case: dict[str, Any]) -> None:
    process, u, tolerance, accepted = given_by(case)
    made = stats.norm(process.mean, process.standard_deviation)

    def taken(eta: float) -> float:
        return float(stats.norm.cdf(accepted.upper, eta, u) - stats.norm.cdf(accepted.lower, eta, u))

    far = 10 * process.standard_deviation
    outside = sum(
        quad(lambda eta: made.pdf(eta) * taken(eta), a, b, epsabs=1e-13, limit=200)[0]
        for a, b in ((process.mean - far, tolerance.lower), (tolerance.upper, process.mean + far))
    )
    inside = quad(lambda eta: made.pdf(eta) * (1 - taken(eta)), tolerance.lower, tolerance.upper, epsabs=1e-13)[0]

    found = global_risk(process, u, tolerance, accepted)

    assert found.consumer == pytest.approx(outside, abs=1e-10)
    assert found.producer == pytest.approx(inside, abs=1e-10)


def to_25_digits(process: Process, u: float, tolerance: Between, accepted: Between) -> tuple[Any, Any]:
    """Both risks by mpmath, its interval cut where the integrand turns."""
    with mpmath.workdps(25):

        def density(eta: Any) -> Any:
            return mpmath.npdf(eta, process.mean, process.standard_deviation)

        def taken(eta: Any) -> Any:
            return mpmath.ncdf((accepted.upper - eta) / u) - mpmath.ncdf((accepted.lower - eta) / u)

        def integral(of: Any, a: float, b: float) -> Any:
            turns = [end + j * u for end in (accepted.lower, accepted.upper) for j in range(-8, 9, 2)]
            turns += [process.mean + j * process.standard_deviation for j in range(-12, 13, 2)]
            cuts = sorted({a, b, *(cut for cut in turns if a < cut < b and math.isfinite(cut))})
            return mpmath.quad(of, cuts) if a < b else mpmath.mpf(0)

        least, most = (process.mean + side * 12 * process.standard_deviation for side in (-1, 1))
        low, high = max(least, tolerance.lower), min(most, tolerance.upper)
        consumer = integral(lambda eta: density(eta) * taken(eta), least, min(most, low))
        consumer += integral(lambda eta: density(eta) * taken(eta), max(least, high), most)
        return consumer, integral(lambda eta: density(eta) * (1 - taken(eta)), low, high)


@settings(max_examples=12)
@given(st.floats(-2, 2), st.floats(-4, 2), st.floats(0.1, 5), st.floats(-0.9, 0.9))
def test_the_risks_are_good_to_1e_10_whatever_the_measurement(
    mean: float, log_u: float, half: float, guard: float
) -> None:
    """mpmath to 25 digits: measurements from a ten-thousandth to a hundred times the process."""
    case = Process(mean, 1.0), 10**log_u, Between(-half, half), Between(-half + guard * half, half - guard * half)

    found = global_risk(*case)

    consumer, producer = to_25_digits(*case)
    assert abs(found.consumer - consumer) < 1e-10
    assert abs(found.producer - producer) < 1e-10


def test_the_risks_agree_with_a_million_items_drawn() -> None:
    process, u, tolerance, accepted = given_by(EXAMPLE["cases"][0])
    draws = np.random.default_rng(20260106)
    true = draws.normal(process.mean, process.standard_deviation, 1_000_000)
    seen = true + draws.normal(0, u, true.size)
    good = (tolerance.lower <= true) & (true <= tolerance.upper)
    taken = (accepted.lower <= seen) & (seen <= accepted.upper)

    found = global_risk(process, u, tolerance, accepted)

    for risk, drawn in ((found.consumer, np.mean(~good & taken)), (found.producer, np.mean(good & ~taken))):
        assert abs(drawn - risk) < 4 * math.sqrt(risk * (1 - risk) / true.size)


def test_one_limit_has_risks_too() -> None:
    """Process and measurement centred on one limit: an eighth is bad and taken (the angle between two normals)."""
    found = global_risk(Process(0, 1), 1.0, Between(-math.inf, 0), Between(-math.inf, 0))

    assert found.consumer == pytest.approx(1 / 8, abs=1e-12)
    assert found.producer == pytest.approx(1 / 8, abs=1e-12)


@given(st.floats(0, 0.9), st.floats(0.01, 0.09))
def test_a_wider_guard_band_lowers_the_consumer_s_risk_and_raises_the_producer_s(guard: float, more: float) -> None:
    def risk(w: float) -> Any:
        return global_risk(Process(0.2, 0.6), 0.1, Between(-1, 1), Between(w - 1, 1 - w))

    narrow, wide = risk(guard), risk(guard + more)

    assert wide.consumer < narrow.consumer
    assert wide.producer > narrow.producer
