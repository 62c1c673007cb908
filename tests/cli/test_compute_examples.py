"""Every worked example that fits a kind of calculation, through the command as an auditor would ask it."""

import math
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest
from scipy import stats

from tests.computing import computed, contributions, example, plain, refused

TOLERANCES = example("tolerance_hb44_r76")["cases"]
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
AIR = example("air_density")
BUOYANCY = example("buoyancy")
GRAVITY = example("gravity")
ZONES = example("ilac_g8_zones")
CONFORMITY = example("jcgm_106_conformity")
RISK = example("global_risk")


def tolerance_asked(case: dict[str, Any], **more: Any) -> dict[str, Any]:
    unit = case["ranges"][0]["unit"]
    return {
        "scheme": case["scheme"],
        "stage": case["stage"],
        "accuracy_class": case["accuracy_class"],
        "unit": unit,
        "ranges": [{name: r[name] for name in ("max", "d", "e")} for r in case["ranges"]],
        "load": case["load"],
    } | more


@pytest.mark.parametrize("case", TOLERANCES, ids=lambda c: f"{c['id']} {c['instrument']}, {c['source']}")
def test_a_tolerance_is_the_one_of_the_example(case: dict[str, Any]) -> None:
    found = computed("tolerance", tolerance_asked(case))

    assert found["tolerance"]["unit"] == case["tolerance"]["unit"]
    assert Decimal(found["tolerance"]["value"]) == Decimal(case["tolerance"]["value"])
    assert Decimal(found["divisions"]) == Decimal(case["tolerance_in_e"])
    assert Decimal(found["load_in_divisions"]) == Decimal(case["load_in_e"])
    assert "load_in_divisions_fraction" not in found


@pytest.mark.parametrize("load", example("r76_multi_interval")["loads"], ids=lambda c: f"{c['load_g']} g")
def test_a_multi_interval_scale_has_the_tolerances_of_the_standard_s_example(load: dict[str, str]) -> None:
    """OIML R 76-1:2006 3.3."""
    data = example("r76_multi_interval")
    case = data | {"scheme": "r76", "stage": "initial", "load": {"value": load["load_g"], "unit": "g"}}

    found = computed("tolerance", tolerance_asked(case))

    assert Decimal(found["tolerance"]["value"]) == Decimal(load["tolerance_g"])


@pytest.mark.parametrize("case", example("table_misprints")["r76_initial"], ids=lambda c: c["id"])
def test_a_misprinted_tolerance_is_never_answered(case: dict[str, str]) -> None:
    """UK SI 1995/1907 Schedule 2 in its public text, against OIML R 76-1:2006 Table 6."""
    asked = {
        "scheme": "r76",
        "stage": "initial",
        "accuracy_class": case["accuracy_class"],
        "unit": "g",
        "ranges": [{"max": "100000", "d": "1", "e": "1"}],
        "load": case["load_in_e"],
    }

    found = computed("tolerance", asked)

    assert Decimal(found["divisions"]) == Decimal(case["right_in_e"]) != Decimal(case["misprinted_in_e"])


def test_at_300_kg_by_100_g_the_two_schemes_differ_above_4000_e() -> None:
    """HB 44: 5 e, acceptance 2.5 e; R 76: 3 e in service, 1.5 e initial, at 4 500 e."""
    base = {"accuracy_class": "III", "unit": "kg", "ranges": [{"max": "450", "d": "0.1", "e": "0.1"}], "load": "450"}
    stages = {
        ("hb44", "maintenance"): "5",
        ("hb44", "acceptance"): "2.5",
        ("r76", "in-service"): "3",
        ("r76", "initial"): "1.5",
    }

    found = {key: computed("tolerance", base | dict(zip(("scheme", "stage"), key, strict=True))) for key in stages}

    assert {key: answer["divisions"] for key, answer in found.items()} == stages


def test_the_range_selected_counts_on_a_multiple_range_scale_even_for_a_light_load() -> None:
    case = example("r76_multi_interval") | {"scheme": "r76", "stage": "initial", "load": {"value": "400", "unit": "g"}}

    found = computed("tolerance", tolerance_asked(case, range_in_use=3))

    assert (found["tolerance"]["value"], found["divisions"], found["range_in_use"]) == ("5", "0.5", 3)


def test_a_load_whose_count_of_e_does_not_end_has_its_fraction_beside() -> None:
    """100 kg on a scale of 0.2 lb: 100 / (0.2 x 0.45359237) e."""
    asked = {
        "scheme": "hb44",
        "stage": "maintenance",
        "accuracy_class": "III",
        "unit": "[lb_av]",
        "ranges": [{"max": "600", "d": "0.2", "e": "0.2"}],
        "load": {"value": "100", "unit": "kg"},
    }

    found = computed("tolerance", asked)

    exact = Fraction(100) / (Fraction("0.2") * Fraction("0.45359237"))
    assert Fraction(found["load_in_divisions_fraction"]) == exact
    assert float(found["load_in_divisions"]) == pytest.approx(float(exact), rel=1e-11)
    assert found["tolerance"] == {"value": "0.4", "unit": "[lb_av]"}


def test_a_load_below_min_is_said_and_has_its_tolerance_all_the_same() -> None:
    case = TOLERANCES[0] | {"load": {"value": "1.9", "unit": "kg"}}

    found = computed("tolerance", tolerance_asked(case))

    assert found["tolerance"]["value"] == "0.1"
    assert [f["code"] for f in found["findings"]] == ["below-min"]


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


@pytest.mark.parametrize("formula", ["cipm-2007", "simplified"])
@pytest.mark.parametrize("case", [c for c in AIR["computed"] if c["cipm-2007"] is not None], ids=lambda c: c["id"])
def test_a_density_of_air_is_the_one_of_the_example(case: dict[str, Any], formula: str) -> None:
    asked = {name: case[name] for name in ("temperature_c", "pressure_hpa", "relative_humidity_pct")}

    found = computed("air-density", asked | {"formula": formula})

    places = min(8, len(str(case[formula]).partition(".")[2]))
    assert round(found["density_kg_m3"], places) == round(case[formula], places)


@pytest.mark.parametrize(("height", "density"), AIR["height"])
def test_a_height_gives_the_density_of_the_example(height: str, density: float) -> None:
    found = computed("air-density", {"formula": "height", "height_m": height})

    assert round(found["density_kg_m3"], 4) == density


@pytest.mark.parametrize("case", BUOYANCY["corrections"], ids=lambda c: c["id"])
def test_a_buoyancy_correction_is_the_one_of_the_example(case: dict[str, Any]) -> None:
    found = computed("buoyancy", {name: case[name] for name in ("nominal", "density_kg_m3", "air_density_kg_m3")})

    assert found["correction"] == pytest.approx(case["correction"], rel=1e-12)
    assert found["unit"] == "g"


@pytest.mark.parametrize("case", BUOYANCY["conventional"], ids=lambda c: c["id"])
def test_a_conventional_mass_is_the_one_of_the_example(case: dict[str, Any]) -> None:
    asked = {"mass": {"value": "1", "unit": "kg"}, "density_kg_m3": case["density_kg_m3"]}

    assert computed("conventional-mass", asked)["conventional_mass"] == pytest.approx(
        case["conventional_mass"], abs=1e-12
    )


@pytest.mark.parametrize("formula", ["grs80", "wgs84", "series-1980", "zone-formula"])
@pytest.mark.parametrize("case", GRAVITY["computed"][:5], ids=lambda c: f"{c['latitude_deg']} degrees")
def test_g_is_the_one_of_the_example(case: dict[str, Any], formula: str) -> None:
    asked = {"latitude_deg": case["latitude_deg"], "height_m": case["height_m"], "formula": formula}

    assert computed("gravity", asked)["g_m_s2"] == pytest.approx(case[formula], abs=6e-9)


@pytest.mark.parametrize("case", GRAVITY["moves"], ids=lambda c: c["id"])
def test_a_move_shifts_a_scale_as_in_the_example(case: dict[str, Any]) -> None:
    found = computed("relocation", {name: case[name] for name in ("load", "g_from", "g_to")})

    assert found["shift"] == pytest.approx(case["shift"], abs=1e-9 if case["indication"] else 6e-5)
    assert found["unit"] == case["load"]["unit"]
    if case["indication"]:
        assert found["indication"] == pytest.approx(case["indication"], abs=1e-9)


def test_two_places_shift_a_scale_as_their_two_values_of_g_do() -> None:
    places = [
        {"latitude_deg": "48.14", "height_m": "550", "formula": "wgs84"},
        {"latitude_deg": 52, "formula": "grs80"},
    ]
    start, end = (computed("gravity", place) for place in places)
    load = {"value": "150", "unit": "kg"}

    by_place = computed("relocation", {"load": load, "g_from": places[0], "g_to": places[1]})
    by_value = computed(
        "relocation",
        {
            "load": load,
            "g_from": plain(start["g_m_s2"]),
            "g_to": plain(end["g_m_s2"]),
            "g_from_standard_uncertainty": plain(start["standard_uncertainty"]),
            "g_to_standard_uncertainty": plain(end["standard_uncertainty"]),
        },
    )

    assert by_place == by_value
    assert by_place["standard_uncertainty"] == pytest.approx(150 * math.sqrt(2) * 1e-4 / math.sqrt(3), rel=1e-3)


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


@pytest.mark.parametrize("case", example("exact_grid")["errors"], ids=lambda c: f"{c['reading']} - {c['load']}")
def test_an_error_on_the_limit_passes_as_a_change_over_and_as_a_value(case: dict[str, Any]) -> None:
    """In binary floats 1.1 - 1.0 is above 0.1."""
    kg = {name: {"value": case[name], "unit": "kg"} for name in ("load", "reading")}
    half = {"value": "0.05", "unit": "kg"}

    error = computed(
        "change-over",
        {"load": kg["load"], "indication": kg["reading"], "added": half, "e": {"value": "0.1", "unit": "kg"}},
    )
    found = computed(
        "conformity",
        {
            "value": error["error"]["value"],
            "standard_uncertainty": 0,
            "lower": f"-{case['tolerance']}",
            "upper": case["tolerance"],
        },
    )

    assert error["error"] == {"value": case["error"], "unit": "kg"}
    assert found["verdict"] == "pass"


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


@pytest.mark.parametrize("case", example("minimum_weight")["usp"], ids=lambda c: c["id"])
def test_a_minimum_weight_by_usp_41_is_the_one_of_the_example(case: dict[str, str]) -> None:
    sizes = {name: case[name] for name in ("standard_deviation", "division")}
    in_grams = {name: {"value": value, "unit": "g"} for name, value in sizes.items()}

    assert computed("minimum-weight", sizes)["minimum_weight"] == case["minimum_weight"]
    assert computed("minimum-weight", in_grams)["minimum_weight"] == {"value": case["minimum_weight"], "unit": "g"}


@pytest.mark.parametrize("case", example("minimum_weight")["in_use"], ids=lambda c: c["id"])
def test_a_minimum_weight_in_use_is_the_one_of_the_example_and_prints_rounded_up(case: dict[str, Any]) -> None:
    asked = {name: case[name] for name in ("alpha", "beta", "requirement", "safety_factor")}

    found = computed("minimum-weight", asked)

    assert found["minimum_weight"] == pytest.approx(case["minimum_weight"], rel=1e-12)
    assert 0 <= float(found["printed"]) - case["minimum_weight"] < 0.001


@pytest.mark.parametrize("case", example("minimum_weight")["none"], ids=lambda c: c["id"])
def test_where_there_is_no_minimum_weight_it_is_refused(case: dict[str, Any]) -> None:
    problem = refused(
        "minimum-weight", {name: case[name] for name in ("alpha", "beta", "requirement", "safety_factor")}
    )

    assert (problem["status"], problem["code"], problem["errors"][0]["code"]) == (422, "refused", "no-minimum-weight")


@pytest.mark.parametrize("case", example("change_over_points")["cases"], ids=lambda c: c["id"])
def test_a_change_over_gives_the_errors_of_the_example(case: dict[str, Any]) -> None:
    """OIML R 76-1:2006 A.4.4.3."""
    names = ("load", "indication", "added", "e", "error_at_zero")

    found = computed("change-over", {name: {"value": case[name], "unit": case["unit"]} for name in names})

    for name in ("error", "corrected_error", "before_rounding"):
        assert found[name] == {"value": case[name], "unit": case["unit"]}


def test_small_weights_in_grams_go_with_a_reading_in_kilograms_and_in_pounds() -> None:
    """80 g are 0.08 kg; in pounds they do not end, so that the answer is in kilograms."""
    in_kg = {
        name: {"value": value, "unit": "kg"} for name, value in (("load", "100"), ("indication", "100.1"), ("e", "0.1"))
    }
    grams = {"added": {"value": "80", "unit": "g"}}
    in_lb = {name: amount | {"unit": "[lb_av]"} for name, amount in in_kg.items()} | {
        "added": {"value": "20", "unit": "g"}
    }

    assert computed("change-over", in_kg | grams)["error"] == {"value": "0.07", "unit": "kg"}
    exact = Fraction("0.15") * Fraction("0.45359237") - Fraction("0.02")
    mixed = computed("change-over", in_lb)["error"]
    assert (Fraction(mixed["value"]), mixed["unit"]) == (exact, "kg")


@pytest.mark.parametrize("case", example("units")["masses"], ids=lambda c: f"{c['value']} {c['unit']}")
def test_a_mass_in_kilograms_is_exact_and_back_it_is_its_own_fraction(case: dict[str, str]) -> None:
    """NIST HB 44 Appendix C."""
    there = computed("convert", {"value": case["value"], "unit": case["unit"], "to": "kg"})
    back = computed("convert", {"value": there["value"], "unit": "kg", "to": case["unit"]})

    assert there == {"value": case["kg"], "unit": "kg", "exact": True}
    assert back == {"value": case["value"], "unit": case["unit"], "exact": True}


def test_a_kilogram_in_pounds_does_not_end_and_says_so() -> None:
    """1 kg = 2.204 622 621 8... lb; the fraction is 1 / 0.45359237."""
    found = computed("convert", {"value": "1", "unit": "kg", "to": "[lb_av]"})

    assert found == {"value": "2.20462262185", "unit": "[lb_av]", "exact": False, "fraction": "100000000/45359237"}


def test_two_public_slips_of_pounds_are_not_ours() -> None:
    """A guideline equates 10 lb with 5 kg, a news release one pound with 2.2 kg."""
    ten, one = (computed("convert", {"value": value, "unit": "[lb_av]", "to": "kg"})["value"] for value in ("10", "1"))

    assert (ten, one) == ("4.5359237", "0.45359237")
