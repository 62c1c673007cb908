"""Worked examples of budgets, verdicts and risks, through the command as an auditor would ask it."""

import math
from decimal import Decimal
from typing import Any

import pytest
from scipy import stats

from tests.computing import computed, contributions, example, plain
from tests.routes.asked_wrongly import without

BUDGETS = {
    name: example(name)
    for name in (
        "gum_h1_end_gauge",
        "weighing_budget_tartu",
        "ea_4_02_s2_weight",
        "patient_scale_budget",
        "balance_budget",
    )
}
G2 = example("gum_table_g2")
END_GAUGE = example("gum_h1_second_order")
IMPEDANCE = example("gum_h2_correlated")
ZONES = example("ilac_g8_zones")
CONFORMITY = example("jcgm_106_conformity")
RISK = example("global_risk")


@pytest.mark.parametrize("name", sorted(BUDGETS))
def test_a_budget_is_the_one_of_the_example(name: str) -> None:
    """GUM H.1, University of Tartu, EA-4/02 S2, and two budgets by cg-18 checked with GTC."""
    data = BUDGETS[name]
    expected = data["expected"]

    found = computed(
        "uncertainty",
        {
            "contributions": contributions(data),
            "coverage": {"probability": plain(data.get("probability", 0.9545))},
        },
    )

    assert found["combined"] == pytest.approx(expected["u"], rel=1e-12)
    if "nu_eff" in expected:
        assert found["effective_degrees_of_freedom"] == pytest.approx(expected["nu_eff"], rel=1e-9)
    else:
        assert "effective_degrees_of_freedom" not in found
        assert found["k"] == 2
    for key, field in (("k", "k"), ("k99", "k"), ("U", "expanded"), ("U99", "expanded")):
        if key in expected:
            assert found[field] == pytest.approx(expected[key], rel=1e-9)


def test_the_patient_scale_s_budget_follows_from_its_readings_as_well() -> None:
    """100.0, 100.1, 100.1 kg have s = 57.735 g: the reading of a point is a single one."""
    data = BUDGETS["patient_scale_budget"]
    asked = contributions(data)
    asked[2] = {"name": "repeatability", "readings": ["100000", "100100", 100100]}

    found = computed("uncertainty", {"contributions": asked})

    assert found["combined"] == pytest.approx(data["expected"]["u"], rel=1e-12)
    assert found["expanded"] == pytest.approx(data["expected"]["U"], rel=1e-9)
    assert found["printed"] == "190"


def test_the_end_gauge_has_the_u_of_the_example_to_the_second_order() -> None:
    """GUM H.1.7: 34 nm, and 33.91115 as a public package prints it."""
    question = {name: END_GAUGE[name] for name in ("contributions", "second_order")}

    first, second = (computed("uncertainty", asked) for asked in (without(question, "second_order"), question))

    expected, published = END_GAUGE["expected"], END_GAUGE["published"]
    assert first["combined"] == pytest.approx(expected["first_order"], rel=1e-6)
    assert second["combined"] == pytest.approx(expected["u"], rel=1e-6)
    assert second["second_order_variance"] == pytest.approx(sum(t * t for t in expected["terms"]), rel=1e-6)
    assert round(second["combined"]) == published["u"]
    assert round(second["combined"], 5) == published["u_to_five_decimals"]


def impedance(*results: str) -> dict[str, Any]:
    """Return the budget of R = V/I cos phi, X = V/I sin phi, Z = V/I, or of a sum of them, from the raw readings."""
    readings = IMPEDANCE["readings"]
    v, i, phi = (sum(float(text) for text in texts) / len(texts) for texts in readings.values())
    of = sum({"R": math.cos(phi), "X": math.sin(phi), "Z": 1.0}[result] for result in results)
    slope = sum({"R": -math.sin(phi), "X": math.cos(phi), "Z": 0.0}[result] for result in results)
    sensitivities = dict(zip(readings, (of / i, -v / i**2 * of, v / i * slope), strict=True))
    parts = [
        {"name": name, "readings": texts, "mean": True, "sensitivity": plain(sensitivities[name])}
        for name, texts in readings.items()
    ]
    pairs = [pair.split() for pair in IMPEDANCE["correlations"]]
    return {"contributions": parts, "correlations": [{"first": a, "second": b} for a, b in pairs]}


@pytest.mark.parametrize("result", ["R", "X", "Z"])
def test_correlated_readings_give_the_u_of_the_example(result: str) -> None:
    """GUM H.2, Table H.3; 0.295 of X is printed from rounded inputs. Five readings taken together: four degrees."""
    found = computed("uncertainty", impedance(result))

    assert found["combined"] == pytest.approx(IMPEDANCE["expected"][result]["u"], rel=1e-6)
    assert found["combined"] == pytest.approx(IMPEDANCE["published"][result]["u"], abs=0.001)
    assert found["effective_degrees_of_freedom"] == pytest.approx(4)
    assert {f"{c['first']} {c['second']}": round(c["r"], 4) for c in found["correlations"]} == IMPEDANCE["correlations"]


@pytest.mark.parametrize("pair", ["R X", "R Z", "X Z"])
def test_the_u_of_a_sum_gives_the_correlation_of_two_results_of_the_example(pair: str) -> None:
    """GUM H.2, Table H.3: u2(a + b) = u2(a) + u2(b) + 2 r u(a) u(b)."""
    one, other = pair.split()

    u, v, both = (computed("uncertainty", impedance(*named))["combined"] for named in ((one,), (other,), (one, other)))

    r = (both**2 - u**2 - v**2) / (2 * u * v)
    assert r == pytest.approx(IMPEDANCE["expected"]["r"][pair], rel=1e-6)
    assert round(r, 3) == IMPEDANCE["published"]["r"][pair]


def test_coefficients_that_are_given_count_as_those_worked_out() -> None:
    worked_out = impedance("X")
    by_readings = computed("uncertainty", worked_out)
    given = [c | {"r": plain(c["r"])} for c in by_readings["correlations"]]

    found = computed("uncertainty", worked_out | {"correlations": given})

    assert found == by_readings


@pytest.mark.parametrize("row", G2["six_digits_9545"], ids=lambda r: f"{r[0]} degrees of freedom")
def test_k_is_that_of_table_g_2(row: tuple[int, float]) -> None:
    """GUM (JCGM 100:2008) Table G.2, column 95.45."""
    degrees, k = row

    found = computed(
        "uncertainty",
        {
            "contributions": [{"name": "one", "standard_uncertainty": 1, "degrees_of_freedom": degrees}],
            "coverage": {"probability": "0.9545"},
        },
    )

    assert found["k"] == pytest.approx(k, abs=1e-6)


@pytest.mark.parametrize("case", ZONES["cases"], ids=lambda c: f"E {c['error']} U {c['U']}")
def test_a_verdict_is_the_one_of_its_zone(case: dict[str, Any]) -> None:
    """ILAC-G8:09/2019 4.2.1 to 4.2.3."""
    asked = {
        "value": case["error"],
        "expanded": case["U"],
        "k": "2",
        "lower": f"-{case['tolerance']}",
        "upper": case["tolerance"],
    }
    bands = {
        "simple": {},
        "guarded": {"guard_band": {"r": "1"}},
        "four_zones": {"guard_band": {"r": 1, "zones": "four"}},
    }

    found = {rule: computed("conformity", asked | band) for rule, band in bands.items()}

    assert {rule: answer["verdict"] for rule, answer in found.items()} == {rule: case[rule] for rule in bands}
    if case["probability_k2"] is None:
        assert "probability" not in found["simple"]
    else:
        assert found["simple"]["probability"] == pytest.approx(case["probability_k2"], abs=1e-12)


@pytest.mark.parametrize("case", CONFORMITY["cases"], ids=lambda c: c["id"])
def test_a_probability_of_conformity_is_the_one_of_the_example(case: dict[str, Any]) -> None:
    """JCGM 106:2012 7.4: two limits, an upper one, a lower one."""
    limits = {name: plain(float(case[name])) for name in ("lower", "upper") if case[name] is not None}

    found = computed("conformity", {"value": plain(case["value"]), "standard_uncertainty": plain(case["u"])} | limits)

    assert found["probability"] == pytest.approx(case["computed"], abs=1e-12)
    assert f"{found['probability']:.2f}" == case["published"]


@pytest.mark.parametrize(("value", "on", "risk"), [("0.10", "consumer", 0.022750), ("0.21", "producer", 0.420740)])
def test_the_specific_risk_is_that_of_the_decision_taken(value: str, on: str, risk: float) -> None:
    """JCGM 106:2012 section 9: wrongly accepted beyond the limit at z = 2, wrongly rejected within it at z = -0.2."""
    found = computed("conformity", {"value": value, "standard_uncertainty": "0.05", "upper": "0.20"})

    assert found["specific_risk"]["on"] == on
    assert found["specific_risk"]["probability"] == pytest.approx(risk, abs=5e-7)


def test_a_speed_is_above_its_limit_with_the_published_probability() -> None:
    """JCGM 106:2012 section 8: 107 km/h where the law says 100."""
    speed = CONFORMITY["speed"]
    u = Decimal(speed["from"]) * Decimal(speed["relative_u"])

    found = computed("conformity", {"value": speed["from"], "standard_uncertainty": f"{u:f}", "upper": speed["limit"]})

    assert found["verdict"] == "fail"
    assert found["probability_of_nonconformity"] == pytest.approx(speed["probability"], abs=1e-6)
    assert math.ceil(float(speed["from"])) == int(speed["printed"])


def test_few_degrees_of_freedom_make_it_student_s_probability() -> None:
    case = CONFORMITY["few_degrees"]
    asked = {"value": "0.15", "standard_uncertainty": "0.1", "lower": "-0.3", "upper": "0.3"}

    found = computed("conformity", asked | {"degrees_of_freedom": case["nu"]})

    assert found["probability"] == pytest.approx(case["student"], abs=5e-6)
    assert found["decided_on"]["k"] == pytest.approx(float(stats.t.ppf(1.9545 / 2, 5)), rel=1e-9)
    assert found["decided_on"]["printed_uncertainty"] == "0.26"


@pytest.mark.parametrize(("risk", "ratio"), example("guard_bands")["ratios"])
def test_a_wanted_risk_asks_the_guard_band_of_the_source(risk: str, ratio: float) -> None:
    asked = {"value": "0", "expanded": "0.10", "k": 2, "lower": "-1", "upper": "1", "guard_band": {"risk": risk}}

    found = computed("conformity", asked)

    assert round(float(found["decided_on"]["guard_ratio"]), 4) == ratio
    assert Decimal(found["acceptance_limits"]["upper"]) == 1 - Decimal(found["decided_on"]["guard_ratio"]) * Decimal(
        "0.10"
    )


@pytest.mark.parametrize("case", RISK["cases"], ids=lambda c: c["id"])
def test_global_risks_are_those_of_the_example(case: dict[str, Any]) -> None:
    """JCGM 106:2012 section 9."""
    names = ("mean", "standard_deviation", "standard_uncertainty", "lower", "upper", "guard_band")

    found = computed("risk", {name: case[name] for name in names})

    assert (round(found["consumer"], 6), round(found["producer"], 6)) == (case["consumer"], case["producer"])


def test_a_guard_band_of_r_1_is_twice_the_standard_uncertainty_in_a_risk() -> None:
    case = RISK["cases"][1]
    base = {name: case[name] for name in ("mean", "standard_deviation", "standard_uncertainty", "lower", "upper")}

    by_width, by_ratio = (computed("risk", base | {"guard_band": band}) for band in ("0.08", {"r": "1"}))

    assert by_width == by_ratio
