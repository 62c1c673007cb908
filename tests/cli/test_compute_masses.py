"""Worked examples of tolerances, air, gravity and masses, through the command as an auditor would ask it."""

import math
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest

from tests.computing import computed, example, plain, refused

TOLERANCES = example("tolerance_hb44_r76")["cases"]
AIR = example("air_density")
BUOYANCY = example("buoyancy")
GRAVITY = example("gravity")


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
