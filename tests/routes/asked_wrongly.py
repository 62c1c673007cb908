"""Questions that a calculator must refuse, with where and why, and questions at the very ends of what it takes."""

from typing import Any

from api.metrology.calculations.table import OF_NAME

CONTRIBUTION = {"name": "a", "standard_uncertainty": "1"}
PAIR = (CONTRIBUTION, {"name": "b", "standard_uncertainty": "2"})
THIRD = {"name": "c", "standard_uncertainty": "3"}
R = {"first": "a", "second": "b", "r": "0.5"}
BENT = {"first": "a", "second": "b", "derivative": "1"}
CONFORMITY = {"value": "0.1", "standard_uncertainty": "0.05", "lower": "-0.2", "upper": "0.2"}
RISK = dict(OF_NAME["risk"].example)
AIR = dict(OF_NAME["air-density"].example)
TOLERANCE = dict(OF_NAME["tolerance"].example)
CHANGE_OVER = dict(OF_NAME["change-over"].example)
IN_USE = {"alpha": "0.0004", "beta": "0.00001", "requirement": "0.001"}


def without(question: dict[str, Any], *names: str) -> dict[str, Any]:
    return {name: value for name, value in question.items() if name not in names}


def budget(*parts: dict[str, Any], **more: Any) -> dict[str, Any]:
    return {"contributions": list(parts)} | more


# Question, where the fault is pointed at, and a word its sentence has.
NONSENSE: list[tuple[str, dict[str, Any], str, str]] = [
    ("uncertainty", budget(), "#/contributions", "a list of 1 to 500"),
    (
        "uncertainty",
        budget(CONTRIBUTION | {"standard_uncertainty": "-1"}),
        "#/contributions/0/standard_uncertainty",
        "from 0",
    ),
    ("uncertainty", budget({"name": "a", "half_width": "1"}), "#/contributions/0", "distribution: Missing"),
    (
        "uncertainty",
        budget({"name": "a", "half_width": "1", "distribution": "normal"}),
        "#/contributions/0",
        "k: Missing",
    ),
    (
        "uncertainty",
        budget({"name": "a", "half_width": "1", "distribution": "uniform"}),
        "#/contributions/0/distribution",
        "rectangular",
    ),
    (
        "uncertainty",
        budget({"name": "a", "half_width": "1", "distribution": "arcsine", "k": "2"}),
        "#/contributions/0/k",
        "Out of place",
    ),
    ("uncertainty", budget({"name": "a"}), "#/contributions/0", "standard_uncertainty: Missing"),
    (
        "uncertainty",
        budget(CONTRIBUTION | {"half_width": "1", "distribution": "rectangular"}),
        "#/contributions/0/half_width",
        "exactly one",
    ),
    (
        "uncertainty",
        budget(CONTRIBUTION | {"distribution": "normal"}),
        "#/contributions/0/distribution",
        "without half_width",
    ),
    (
        "uncertainty",
        budget(CONTRIBUTION | {"degrees_of_freedom": "0"}),
        "#/contributions/0/degrees_of_freedom",
        "above 0",
    ),
    ("uncertainty", budget({"name": "a", "readings": ["1", "2", "x"]}), "#/contributions/0/readings/2", "a number"),
    (
        "uncertainty",
        budget({"name": "a", "readings": [1, 2, 3], "degrees_of_freedom": 9}),
        "#/contributions/0/degrees_of_freedom",
        "n - 1",
    ),
    ("uncertainty", budget(CONTRIBUTION | {"mean": True}), "#/contributions/0/mean", "readings"),
    ("uncertainty", budget(CONTRIBUTION, coverage={"k": "2", "probability": "0.95"}), "#/coverage/k", "exactly one"),
    ("uncertainty", budget(CONTRIBUTION, coverage={}), "#/coverage", "Missing"),
    ("uncertainty", budget(CONTRIBUTION, coverage={"k": "0"}), "#/coverage/k", "from 0.001"),
    ("uncertainty", budget(CONTRIBUTION, coverage={"k": "-2"}), "#/coverage/k", "from 0.001"),
    ("uncertainty", budget(CONTRIBUTION, coverage={"probability": "1"}), "#/coverage/probability", "0.999999"),
    ("uncertainty", budget(CONTRIBUTION, coverage={"probability": "NaN"}), "#/coverage/probability", "a number"),
    (
        "uncertainty",
        budget(CONTRIBUTION | {"standard_uncertainty": "Infinity"}),
        "#/contributions/0/standard_uncertainty",
        "a number",
    ),
    (
        "uncertainty",
        budget(CONTRIBUTION | {"standard_uncertainty": True}),
        "#/contributions/0/standard_uncertainty",
        "a number",
    ),
    (
        "uncertainty",
        budget(CONTRIBUTION | {"standard_uncertainty": None}),
        "#/contributions/0/standard_uncertainty",
        "leave the field out",
    ),
    ("uncertainty", budget(CONTRIBUTION | {"colour": "blue"}), "#/contributions/0/colour", "Unknown field"),
    ("uncertainty", budget(*PAIR, correlations=[R | {"r": "1.01"}]), "#/correlations/0/r", "from -1 to 1"),
    ("uncertainty", budget(*PAIR, correlations=[R | {"first": "c"}]), "#/correlations/0/first", "no contribution"),
    ("uncertainty", budget(*PAIR, correlations=[R | {"second": "a"}]), "#/correlations/0/second", "another"),
    ("uncertainty", budget(*PAIR, PAIR[0], correlations=[R]), "#/correlations/0/first", "a name of its own"),
    (
        "uncertainty",
        budget(*PAIR, correlations=[R, {"first": "b", "second": "a", "r": "0"}]),
        "#/correlations/1/second",
        "each pair once",
    ),
    ("uncertainty", budget(*PAIR, correlations=[without(R, "r")]), "#/correlations/0", "taken in pairs"),
    ("uncertainty", budget(*PAIR, correlations=[R] * 101), "#/correlations", "0 to 100"),
    ("uncertainty", budget(*PAIR, correlations=[R], second_order=[BENT]), "#/second_order", "independent"),
    ("uncertainty", budget(*PAIR, second_order=[BENT | {"second": "d"}]), "#/second_order/0/second", "no contribution"),
    ("uncertainty", budget(*PAIR, second_order=[BENT, BENT]), "#/second_order/1/second", "each pair once"),
    (
        "uncertainty",
        budget(*PAIR, second_order=[{"first": "a", "second": "a", "third_derivative_back": "1"}]),
        "#/second_order/0/third_derivative_back",
        "Out of place",
    ),
    ("conformity", CONFORMITY | {"lower": "0.3"}, "#/lower", "above the upper limit"),
    ("conformity", without(CONFORMITY, "lower", "upper"), "#", "one limit at least"),
    ("conformity", CONFORMITY | {"standard_uncertainty": "-0.05"}, "#/standard_uncertainty", "from 0"),
    ("conformity", CONFORMITY | {"expanded": "0.1", "k": "2"}, "#/expanded", "exactly one"),
    ("conformity", without(CONFORMITY, "standard_uncertainty") | {"expanded": "0.1"}, "#", "k: Missing"),
    ("conformity", without(CONFORMITY, "standard_uncertainty"), "#", "standard_uncertainty: Missing"),
    ("conformity", CONFORMITY | {"k": "0"}, "#/k", "from 0.001"),
    ("conformity", CONFORMITY | {"guard_band": {"risk": "0.7"}}, "#/guard_band/risk", "0.5"),
    ("conformity", CONFORMITY | {"guard_band": {"risk": "0"}}, "#/guard_band/risk", "above 0"),
    ("conformity", CONFORMITY | {"guard_band": {"risk": "0.05", "r": "1"}}, "#/guard_band/risk", "exactly one"),
    ("conformity", CONFORMITY | {"guard_band": {}}, "#/guard_band", "Missing"),
    ("conformity", CONFORMITY | {"guard_band": {"r": "-1", "zones": "four"}}, "#/guard_band/r", "0 or more"),
    ("conformity", CONFORMITY | {"value": {"value": "0.1", "unit": "kg"}}, "#/value", "a number"),
    ("risk", RISK | {"standard_deviation": "0"}, "#/standard_deviation", "above 0"),
    ("risk", RISK | {"standard_uncertainty": "-1"}, "#/standard_uncertainty", "above 0"),
    ("risk", RISK | {"lower": "1501"}, "#/lower", "above the upper limit"),
    ("risk", RISK | {"guard_band": {"r": "1", "zones": "four"}}, "#/guard_band/zones", "leave it out"),
    ("air-density", AIR | {"relative_humidity_pct": "140"}, "#/relative_humidity_pct", "to 100"),
    ("air-density", AIR | {"pressure_hpa": "101325"}, "#/pressure_hpa", "to 1100"),
    ("air-density", AIR | {"temperature_c": "293"}, "#/temperature_c", "to 60"),
    ("air-density", without(AIR, "temperature_c"), "#", "temperature_c: Missing"),
    ("air-density", {"formula": "height"}, "#", "height_m: Missing"),
    ("air-density", AIR | {"height_m": "100"}, "#/height_m", "Out of place"),
    ("gravity", {"latitude_deg": "95", "height_m": "0", "formula": "wgs84"}, "#/latitude_deg", "to 90"),
    ("gravity", {"latitude_deg": "45", "height_m": "90000", "formula": "wgs84"}, "#/height_m", "to 9000"),
    ("gravity", {"latitude_deg": "45", "formula": "newton"}, "#/formula", "grs80"),
    ("relocation", {"load": {"value": "1", "unit": "kg"}, "g_from": "9.81", "g_to": "1.62"}, "#/g_to", "from 9.7"),
    ("relocation", {"load": {"value": "-1", "unit": "kg"}, "g_from": "9.81", "g_to": "9.8"}, "#/load", "0 or more"),
    (
        "relocation",
        {
            "load": {"value": "1", "unit": "kg"},
            "g_from": "9.81",
            "g_from_standard_uncertainty": "0.001",
            "g_to": {"latitude_deg": "95", "formula": "wgs84"},
        },
        "#/g_to/latitude_deg",
        "to 90",
    ),
    (
        "relocation",
        {
            "load": {"value": "1", "unit": "kg"},
            "g_from": "9.81",
            "g_to_standard_uncertainty": "0.001",
            "g_to": {"latitude_deg": "45", "formula": "wgs84"},
        },
        "#/g_to_standard_uncertainty",
        "Out of place",
    ),
    ("buoyancy", dict(OF_NAME["buoyancy"].example) | {"density_kg_m3": "0"}, "#/density_kg_m3", "from 10"),
    ("buoyancy", dict(OF_NAME["buoyancy"].example) | {"nominal": "10000"}, "#/nominal", '"unit"'),
    ("conventional-mass", {"mass": {"value": "0", "unit": "kg"}, "density_kg_m3": "8000"}, "#/mass", "above 0"),
    ("minimum-weight", {}, "#", "standard_deviation and division, or alpha"),
    ("minimum-weight", {"standard_deviation": "0.1"}, "#", "division: Missing"),
    ("minimum-weight", {"standard_deviation": "-0.1", "division": "0.1"}, "#/standard_deviation", "0 or more"),
    ("minimum-weight", {"standard_deviation": "0.1", "division": "0"}, "#/division", "above 0"),
    ("minimum-weight", {"standard_deviation": "0.1", "division": "0.1"} | IN_USE, "#/alpha", "Out of place"),
    ("minimum-weight", without(IN_USE, "beta"), "#", "beta: Missing"),
    ("minimum-weight", IN_USE | {"safety_factor": "0"}, "#/safety_factor", "from 1"),
    ("change-over", CHANGE_OVER | {"e": {"value": "0", "unit": "g"}}, "#/e", "above 0"),
    ("change-over", CHANGE_OVER | {"added": {"value": "-1", "unit": "g"}}, "#/added", "0 or more"),
    ("convert", {"value": "1", "unit": "lb", "to": "kg"}, "#/unit", "[lb_av]"),
    ("convert", {"value": "1", "unit": "kg", "to": "furlong"}, "#/to", "UCUM"),
    ("tolerance", TOLERANCE | {"ranges": []}, "#/ranges", "a list of 1"),
    ("tolerance", TOLERANCE | {"ranges": [{"max": "300", "d": "0", "e": "0.1"}]}, "#/ranges/0/d", "above 0"),
    ("tolerance", TOLERANCE | {"ranges": [{"max": "3", "d": "1", "e": "1"}] * 2}, "#/ranges/1/max", "ascending"),
    ("tolerance", TOLERANCE | {"load": {"value": "-1", "unit": "kg"}}, "#/load", "0 or more"),
    ("tolerance", TOLERANCE | {"accuracy_class": "V"}, "#/accuracy_class", "IIII"),
]

# Right in shape, and a rule of the trade says no: question, and the refusal's own code.
REFUSED: list[tuple[str, dict[str, Any], str]] = [
    ("tolerance", TOLERANCE | {"stage": "initial"}, "bad-rule"),
    ("tolerance", TOLERANCE | {"edition": "1899"}, "bad-rule"),
    ("tolerance", TOLERANCE | {"load": "300.1"}, "over-capacity"),
    ("tolerance", TOLERANCE | {"range_in_use": 2}, "no-such-range"),
    ("tolerance", TOLERANCE | {"scheme": "r76", "stage": "initial", "accuracy_class": "IIIL"}, "no-table-value"),
    ("tolerance", TOLERANCE | {"scheme": "r76", "stage": "initial", "accuracy_class": "IIII"}, "no-table-value"),
    ("uncertainty", budget({"name": "a", "readings": ["1", "2"]}), "too-few-readings"),
    (
        "uncertainty",
        budget(*PAIR, THIRD, correlations=[R | {"r": 1}, {"first": "b", "second": "c", "r": 1}]),
        "impossible-correlations",
    ),
    (
        "uncertainty",
        budget(*PAIR, second_order=[{"first": "a", "second": "b", "third_derivative": "-9"}]),
        "negative-variance",
    ),
    ("conformity", CONFORMITY | {"guard_band": {"r": "3"}}, "empty-acceptance-zone"),
    ("risk", RISK | {"guard_band": "0.3"}, "empty-acceptance-zone"),
    ("minimum-weight", IN_USE | {"beta": "0.001"}, "no-minimum-weight"),
    ("minimum-weight", {"standard_deviation": "0.1", "division": {"value": "1", "unit": "g"}}, "mixed-units"),
    ("change-over", CHANGE_OVER | {"added": {"value": "6", "unit": "g"}}, "no-change-over"),
]


# Right in shape and at the ends of what a number may be: as many digits, as small a risk, as far apart as the door takes.
TINY, HUGE = "0.0000000000000000000000001", "999999999999999.9999999999999999999999999"
EXTREME: list[tuple[str, dict[str, Any]]] = [
    ("conformity", CONFORMITY | {"guard_band": {"risk": TINY}, "upper": HUGE, "lower": f"-{HUGE}"}),
    (
        "conformity",
        {
            "value": HUGE,
            "standard_uncertainty": TINY,
            "k": "0.001",
            "upper": TINY,
            "guard_band": {"r": "6.997672999501789115"},
        },
    ),
    ("conformity", {"value": f"-{HUGE}", "expanded": HUGE, "k": "1000", "lower": HUGE, "degrees_of_freedom": TINY}),
    ("risk", RISK | {"guard_band": {"risk": TINY}, "lower": "1498", "upper": "1502"}),
    ("risk", RISK | {"standard_deviation": TINY, "standard_uncertainty": HUGE, "guard_band": "0"}),
    ("risk", RISK | {"standard_deviation": HUGE, "standard_uncertainty": TINY, "guard_band": "0"}),
    (
        "uncertainty",
        budget(
            CONTRIBUTION | {"standard_uncertainty": HUGE},
            CONTRIBUTION | {"standard_uncertainty": TINY, "degrees_of_freedom": TINY},
        ),
    ),
    (
        "uncertainty",
        budget(CONTRIBUTION | {"standard_uncertainty": TINY, "sensitivity": TINY, "degrees_of_freedom": HUGE}),
    ),
    ("uncertainty", budget({"name": "a", "readings": [HUGE, f"-{HUGE}", TINY]})),
    ("uncertainty", budget(CONTRIBUTION | {"degrees_of_freedom": 1}, coverage={"probability": "0.999999"})),
    (
        "uncertainty",
        budget(
            {"name": "a", "readings": [HUGE, f"-{HUGE}", TINY], "sensitivity": HUGE},
            {"name": "b", "readings": [TINY, HUGE, f"-{HUGE}"], "sensitivity": f"-{HUGE}"},
            correlations=[{"first": "a", "second": "b"}],
        ),
    ),
    (
        "uncertainty",
        budget(
            CONTRIBUTION | {"standard_uncertainty": HUGE, "degrees_of_freedom": TINY},
            second_order=[{"first": "a", "second": "a", "derivative": HUGE, "third_derivative": HUGE}],
        ),
    ),
    ("minimum-weight", {"standard_deviation": HUGE, "division": TINY}),
    ("minimum-weight", {"alpha": HUGE, "beta": "0", "requirement": TINY, "safety_factor": "100"}),
    ("convert", {"value": HUGE, "unit": "[oz_av]", "to": "[stone_av]"}),
    ("tolerance", TOLERANCE | {"unit": "[oz_av]", "ranges": [{"max": HUGE, "d": TINY, "e": HUGE}], "load": TINY}),
]
