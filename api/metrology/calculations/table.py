"""The list of kinds: for each its name, what it answers, its question, its answer, the function, and an example."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Final

from api.metrology.calculations import (
    air_density,
    change_over,
    conformity,
    convert,
    gravity,
    minimum_weight,
    risk,
    tolerance,
    uncertainty,
)
from api.metrology.refusals import UnknownCalculation


@dataclass(frozen=True, slots=True)
class Calculation:
    """One kind: its name, a sentence, the shapes of question and answer, the function, and a question as it is sent."""

    name: str
    says: str
    asked: type
    answered: type
    work: Callable[[Any], Any]
    example: Mapping[str, Any]


CALCULATIONS: Final = (
    Calculation(
        "tolerance", "The tolerance at a load, in the scale's unit and in verification intervals, with its source.",
        tolerance.ToleranceAsked, tolerance.ToleranceFound, tolerance.tolerance_of,
        {
            "scheme": "hb44", "stage": "maintenance", "accuracy_class": "III", "unit": "kg",
            "ranges": [{"max": "300", "d": "0.1", "e": "0.1"}], "load": {"value": "250", "unit": "[lb_av]"},
        },
    ),
    Calculation(
        "uncertainty", "A budget of uncertainty: combined, effective degrees of freedom, k, expanded and as printed.",
        uncertainty.UncertaintyAsked, uncertainty.UncertaintyFound, uncertainty.uncertainty_of,
        {
            "contributions": [
                {"name": "rounding at zero", "half_width": "50", "distribution": "rectangular"},
                {"name": "rounding at load", "half_width": "50", "distribution": "rectangular"},
                {"name": "repeatability", "readings": ["100000", "100100", "100100"]},
                {"name": "weights", "half_width": "5", "distribution": "normal", "k": "2"},
            ],
            "coverage": {"probability": "0.9545"},
        },
    ),
    Calculation(
        "conformity", "Whether a value lies within its limits under a rule, and the probability that it does.",
        conformity.ConformityAsked, conformity.Conformity, conformity.conformity_of,
        {
            "value": "0.10", "expanded": "0.164", "k": "2", "lower": "-0.20", "upper": "0.20",
            "guard_band": {"r": "1", "zones": "four"},
        },
    ),
    Calculation(
        "risk", "How often a process and its measurement accept what is bad and reject what is good.",
        risk.RiskAsked, risk.RiskFound, risk.risk_of,
        {
            "mean": "1500", "standard_deviation": "0.12", "standard_uncertainty": "0.04", "lower": "1499.8",
            "upper": "1500.2", "guard_band": "0.08",
        },
    ),
    Calculation(
        "air-density", "The density of air from its climate, or from the height alone.",
        air_density.AirDensityAsked, air_density.AirDensity, air_density.air_density,
        {"formula": "cipm-2007", "temperature_c": "20", "pressure_hpa": "1013.25", "relative_humidity_pct": "50"},
    ),
    Calculation(
        "buoyancy", "What the density of the air adds to the effect of a test load.",
        air_density.BuoyancyAsked, air_density.Buoyancy, air_density.buoyancy_of,
        {"nominal": {"value": "10000", "unit": "g"}, "density_kg_m3": "7100", "air_density_kg_m3": "1.1"},
    ),
    Calculation(
        "conventional-mass", "The conventional mass of a body from its mass and the density of its material.",
        air_density.ConventionalMassAsked, air_density.ConventionalMass, air_density.conventional_mass_of,
        {"mass": {"value": "1", "unit": "kg"}, "density_kg_m3": "2700"},
    ),
    Calculation(
        "gravity", "Gravity at a place from its latitude and height, by a formula named.",
        gravity.GravityAsked, gravity.GravityFound, gravity.gravity_of,
        {"latitude_deg": "52.2964", "height_m": "80", "formula": "series-1980"},
    ),
    Calculation(
        "relocation", "What a scale reads wrong after a move to another gravity, with its uncertainty.",
        gravity.RelocationAsked, gravity.Relocation, gravity.relocation_of,
        {"load": {"value": "150", "unit": "kg"}, "g_from": "9.801018", "g_to": "9.809257012"},
    ),
    Calculation(
        "minimum-weight", "The smallest net load for which a balance is good enough, by one of two rules.",
        minimum_weight.MinimumWeightAsked, minimum_weight.MinimumWeight, minimum_weight.minimum_weight_of,
        {"standard_deviation": {"value": "0.00015", "unit": "g"}, "division": {"value": "0.0001", "unit": "g"}},
    ),
    Calculation(
        "change-over", "The error of a digital indication without its rounding, from a change-over point.",
        change_over.ChangeOverAsked, change_over.ChangeOverFound, change_over.change_over_of,
        {
            "load": {"value": "1000", "unit": "g"}, "indication": {"value": "1000", "unit": "g"},
            "added": {"value": "1.5", "unit": "g"}, "e": {"value": "5", "unit": "g"},
            "error_at_zero": {"value": "0.5", "unit": "g"},
        },
    ),
    Calculation(
        "convert", "A mass in another unit: exact where its decimals end, else a fraction with rounded text.",
        convert.ConvertAsked, convert.Converted, convert.convert,
        {"value": "250", "unit": "[lb_av]", "to": "kg"},
    ),
)  # fmt: skip
OF_NAME: Final = {calculation.name: calculation for calculation in CALCULATIONS}


def calculation_named(name: str) -> Calculation:
    """Return a kind by its name; an unknown one is refused with the list of all (`UnknownCalculation`)."""
    found = OF_NAME.get(name)
    if found is None:
        raise UnknownCalculation(f"No calculation is called {name[:64]!r}; there are: {', '.join(OF_NAME)}.")
    return found
