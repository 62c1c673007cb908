"""The uncertainty of a weighing in use, as a function of the reading: what a weighing on this scale is worth.

EURAMET cg-18 v4.0 (11/2015) sections 7.4 and 7.5, formulas from memory (high confidence): rounding at zero and at the
load, repeatability of one weighing, the load anywhere on the platform, the error line of the calibration, and the
surroundings where they are told. Loads in kilograms. What the tolerance has to say to it is `claims`'.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from api.metrology import contributions
from api.metrology.budget import Budget, Contribution
from api.metrology.contributions import Corners
from api.metrology.error_line import ErrorLine
from api.metrology.refusals import OverCapacity
from api.metrology.repeatability import Spread
from api.metrology.rounding import printed_uncertainty, rounded_like
from api.metrology.scale import Range
from api.metrology.uncertainty import budget_of

# In use the load may stand anywhere, so that |dI|max / L_ecc counts whole: u = |dI|max / (L_ecc sqrt 3) x R. Sources
# disagree: cg-18 7.4.3 v3 and v4 without the 2 (from memory, medium confidence), a public program that follows it with
# the 2, as in the calibration. The larger is taken where nothing else is asked for.
WHOLE_DIFFERENCE: Final = 1
HALF_DIFFERENCE: Final = 2


@dataclass(frozen=True, slots=True)
class Surroundings:
    """What may change between calibrations and from day to day, each as a share of the reading; zero is left out.

    `temperature_coefficient_per_k` times `temperature_range_k` is the whole change over the range; `air_density_share`
    the largest relative change of the air's density; `span_drift` the largest relative change of the span (7.4.2).
    """

    temperature_coefficient_per_k: float = 0.0
    temperature_range_k: float = 0.0
    air_density_share: float = 0.0
    span_drift: float = 0.0


AS_CALIBRATED: Final = Surroundings()


@dataclass(frozen=True, slots=True)
class Behaviour:
    """How a scale was left: its ranges in the unit it weighs in, spread, corners (None where not known), error line."""

    ranges: tuple[Range, ...]
    spread: Spread
    corners: Corners | None
    line: ErrorLine


@dataclass(frozen=True, slots=True)
class WeighingInUse:
    """One weighing: the error that the calibration expects there, the budget, and U with the error left in.

    `error_kg` has the decimals of the printed U. `uncorrected_kg` is k u(W) + |E|: nobody at a ward subtracts the error.
    """

    reading_kg: Decimal
    error_kg: Decimal
    budget: Budget
    uncorrected_kg: Decimal

    @property
    def percent(self) -> Decimal | None:
        """U with the error left in, in percent of the reading, two digits; None at zero."""
        if self.reading_kg <= 0:
            return None
        return printed_uncertainty(float(self.uncorrected_kg) / float(self.reading_kg) * 100)


def weighing_in_use(
    reading_kg: Decimal,
    behaviour: Behaviour,
    eccentricity_divisor: int = WHOLE_DIFFERENCE,
    surroundings: Surroundings = AS_CALIBRATED,
) -> WeighingInUse:
    """Return what a weighing is worth at a reading; refuses a reading above the highest range (`OverCapacity`).

    Says nothing about the proven range: outside it the numbers stand for a scale that goes on as it was measured.
    """
    error, u_error = behaviour.line.at(float(reading_kg))
    parts = [
        *_of_display(reading_kg, behaviour),
        *_of_place(reading_kg, behaviour, eccentricity_divisor),
        Contribution(
            "error line", u_error, "normal", f"{behaviour.line.form}; cg-18 7.4.2 and App. C",
            behaviour.line.degrees_of_freedom,
        ),
        *_of_surroundings(reading_kg, surroundings),
    ]  # fmt: skip
    budget = budget_of(parts)
    uncorrected = printed_uncertainty(budget.expanded + abs(error))
    return WeighingInUse(reading_kg, rounded_like(error, budget.printed), budget, uncorrected)


def _of_display(reading_kg: Decimal, behaviour: Behaviour) -> tuple[Contribution, ...]:
    in_use = next((r for r in behaviour.ranges if reading_kg <= r.max_kg), None)
    if in_use is None:
        top = behaviour.ranges[-1].max_kg
        raise OverCapacity(
            f"{reading_kg:f} kg is above {top:f} kg, the end of the highest range that was calibrated.",
            load=f"{reading_kg:f} kg",
            capacity=f"{top:f} kg",
        )
    return (
        contributions.rounding_at_zero(behaviour.ranges[0].d_kg),
        contributions.rounding_at_load(in_use.d_kg),
        contributions.repeatability(behaviour.spread),
    )


def _of_place(reading_kg: Decimal, behaviour: Behaviour, divisor: int) -> tuple[Contribution, ...]:
    """Where the load stands: `Corners.relative` halves the difference for a load meant to be in the middle."""
    corners = behaviour.corners
    if corners is None:
        return ()
    u = corners.relative * HALF_DIFFERENCE / divisor * float(abs(reading_kg))
    seen = f"|dI|max {corners.largest_difference_kg:f} kg at L_ecc {corners.load_kg:f} kg"
    half = "" if divisor == WHOLE_DIFFERENCE else f"{divisor} "
    return (
        Contribution(
            "eccentricity in use", u, "rectangular", f"{seen}: |dI|max / ({half}L_ecc sqrt 3) x R, cg-18 7.4.3"
        ),
    )


def _of_surroundings(reading_kg: Decimal, told: Surroundings) -> list[Contribution]:
    """cg-18 7.4.2 and 7.4.3, from memory: K_T dT / sqrt 12, d rho_a / (rho_c sqrt 3), |dE(Max)| / (Max sqrt 3)."""
    load = float(abs(reading_kg))
    over_range = abs(told.temperature_coefficient_per_k) * told.temperature_range_k
    parts = [
        ("temperature", over_range / math.sqrt(12), "K_T dT / sqrt 12"),
        # rho_0 / rho_c = 1.2 / 8000 (OIML D 28:2004 and R 111-1:2004 10)
        ("air density", told.air_density_share * 1.2 / 8000 / math.sqrt(3), "d rho_a / (rho_c sqrt 3)"),
        ("drift of the span", told.span_drift / math.sqrt(3), "|dE(Max)| / (Max sqrt 3)"),
    ]
    return [
        Contribution(name, share * load, "rectangular", f"{words}, cg-18 7.4.2 and 7.4.3")
        for name, share, words in parts
        if share
    ]


@dataclass(frozen=True, slots=True)
class LinearBound:
    """U with the error left in, as alpha + beta R: never below the curve at the loads it was made from (cg-18 7.5)."""

    alpha_kg: float
    beta: float

    def at(self, load_kg: float) -> float:
        """Return the bound at a load, in kilograms."""
        return self.alpha_kg + self.beta * load_kg


def linear_bound(behaviour: Behaviour, loads_kg: Sequence[Decimal]) -> LinearBound:
    """Return alpha + beta R over loads, none above the highest load placed: alpha is U at no load.

    For one division beta is the slope to the highest load, as cg-18 7.5.2 has it; where the division changes on the way,
    the steepest slope to any of the loads, so that the bound holds at each of them.
    """
    alpha = _global(Decimal(0), behaviour)
    return LinearBound(alpha, max((_global(load, behaviour) - alpha) / float(load) for load in loads_kg if load > 0))


def _global(load_kg: Decimal, behaviour: Behaviour) -> float:
    weighing = weighing_in_use(load_kg, behaviour)
    return weighing.budget.expanded + abs(behaviour.line.at(float(load_kg))[0])
