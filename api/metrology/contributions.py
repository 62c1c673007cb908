"""What goes into the budget of one point, each with its size and its reason.

The model is EURAMET cg-18 v4.0 (11/2015) section 7.1, formulas from memory (high confidence): rounding at zero and at
the load, repeatability, eccentricity where the load's centre may have been off, and the weights.
"""

import math
from dataclasses import dataclass, field
from decimal import Decimal

from api.metrology.budget import Contribution, Input
from api.metrology.buoyancy import AIR_DENSITY, REFERENCE_DENSITY
from api.metrology.change_over import ADDED_STEP
from api.metrology.convection import Warmth
from api.metrology.measured_air import MeasuredAir
from api.metrology.repeatability import Spread
from api.metrology.rounding import printed_uncertainty
from api.metrology.terms import Placed
from api.metrology.weights import SHARE_OF_AIR, ReferenceLoad, Volume
from api.metrology.weights_in_air import NOT_MEASURED, Surroundings, buoyancy_kg, u_buoyancy

_SQRT3, _SQRT12 = math.sqrt(3), math.sqrt(12)
_MEASURED = "root of (u(rho_a) V)^2 + ((rho_a - rho_0) u(V))^2"
_CORRECTED = f"{_MEASURED}, the reference is corrected, cg-18 7.1.2.4"
_LEFT_OUT = f"{_MEASURED} + correction^2, which was left out (house rule), cg-18 7.1.2.4"
_OF_THE_AIR: tuple[Input, ...] = (("rho_0", AIR_DENSITY, "kg/m3"), ("rho_c", REFERENCE_DENSITY, "kg/m3"))


def _sources_by(symbol: str, divisor: str) -> tuple[str, str, str]:
    """What is summed of the pieces, and the sources of their value and of their drift.

    A weight drifts by at most k_D times what its certificate leaves open, or its class limit where none is used.
    """
    return (
        f"sum of {symbol}",
        f"sum of {symbol} / {divisor}, pieces added arithmetically, cg-18 7.1.2.2",
        f"k_D x sum of {symbol} / sqrt 3, cg-18 7.1.2.3",
    )


_BY_CERTIFICATE, _BY_CLASS = _sources_by("U", "k"), _sources_by("mpe", "sqrt 3")


@dataclass(frozen=True, slots=True)
class Corners:
    """What the eccentricity readings of the visit say: largest difference to the centre, and the load it was seen at.

    `relative` is the standard uncertainty they leave in any load whose place is in doubt, as a share of the indication.
    """

    largest_difference_kg: Decimal
    load_kg: Decimal
    relative: float = field(init=False)
    source: str = field(init=False)

    def __post_init__(self) -> None:
        relative = float(self.largest_difference_kg) / (2 * float(self.load_kg) * _SQRT3)
        seen = f"|dI|max {self.largest_difference_kg:f} kg at L_ecc {self.load_kg:f} kg"
        object.__setattr__(self, "relative", relative)
        object.__setattr__(self, "source", f"{seen}: |dI|max / (2 L_ecc sqrt 3) x I, cg-18 7.1.1.4")


def rounding_at_zero(d_kg: Decimal) -> Contribution:
    """Return the rounding of the display at no load: half a division either way, rectangular."""
    source = "d / (2 sqrt 3), cg-18 7.1.1.1"
    return Contribution("rounding at zero", float(d_kg) / _SQRT12, "rectangular", source, inputs=(("d", d_kg, "kg"),))


def rounding_at_load(d_kg: Decimal) -> Contribution:
    """Return the rounding of the display at the load: half a division of the range in use, rectangular."""
    source = "d / (2 sqrt 3), cg-18 7.1.1.2"
    return Contribution("rounding at load", float(d_kg) / _SQRT12, "rectangular", source, inputs=(("d", d_kg, "kg"),))


def change_over_at_zero(d_kg: Decimal) -> Contribution:
    """Return what a change-over point leaves of the rounding at no load: the step of the small weights, 0.1 of d."""
    return _change_over("change-over at zero", d_kg)


def change_over_at_load(d_kg: Decimal) -> Contribution:
    """Return what a change-over point leaves of the rounding at the load: the step of the small weights, 0.1 of d."""
    return _change_over("change-over at load", d_kg)


def _change_over(name: str, d_kg: Decimal) -> Contribution:
    words = "0.1 d / (2 sqrt 3): weights added in steps of 0.1 d, R 76-1 A.4.4.3"
    return Contribution(name, float(ADDED_STEP * d_kg) / _SQRT12, "rectangular", words, inputs=(("d", d_kg, "kg"),))


def repeatability(spread: Spread) -> Contribution:
    """Return the repeatability of a single reading: the pooled s of the visit, with its degrees of freedom."""
    return Contribution("repeatability", spread.s_kg, "t", spread.source, spread.degrees_of_freedom)


def eccentricity(corners: Corners, indication_kg: Decimal) -> Contribution:
    """Return what an off-centre load may have changed: |dI|max / (2 L_ecc sqrt 3), relative, times the indication."""
    size = abs(indication_kg)
    inputs = (("|dI|max", corners.largest_difference_kg, "kg"), ("L_ecc", corners.load_kg, "kg"), ("I", size, "kg"))
    return Contribution("eccentricity", corners.relative * float(size), "rectangular", corners.source, inputs=inputs)


def of_substitutions(steps: int, d_kg: Decimal, spread: Spread | None) -> list[Contribution]:
    """Return what the substitute loads under a load leave open: two readings a step, each rounded and repeating.

    sqrt(2 k) times the rounding of a display and times s, k the steps: the readings of different steps are independent of
    each other, unlike the errors of the weights, which add (GUM 5.1.2 and 5.2.2; the model is our own).
    """
    grown = math.sqrt(2 * steps)
    inputs = (("k", Decimal(steps), "1"), ("d", d_kg, "kg"))
    words = "sqrt(2 k) x d / (2 sqrt 3): two readings a substitution, own model after GUM 5.1.2"
    rounded = Contribution(
        "rounding in substitutions", grown * float(d_kg) / _SQRT12, "rectangular", words, inputs=inputs
    )
    if spread is None:
        return [rounded]
    again = f"sqrt(2 k) x s; {spread.source}"
    return [rounded, Contribution(
        "repeatability in substitutions", grown * spread.s_kg, "t", again, spread.degrees_of_freedom,
        inputs=(("k", Decimal(steps), "1"),),
    )]  # fmt: skip


def centre_may_be_off(placed: Placed | None) -> bool:
    """Return whether the load's own place enters its budget: always, unless one body stood over the centre."""
    return placed != "one body centred"


def of_the_weights(
    load: ReferenceLoad, adjusted_before: bool, surroundings: Surroundings = NOT_MEASURED
) -> tuple[Contribution, ...]:
    """Return the contributions of the weights: value, drift since, buoyancy, and on a balance convection.

    Buoyancy comes from the air of the visit where it was measured and every density is known, else from its bound.
    """
    summed, of_value, of_drift = _BY_CERTIFICATE if load.by_certificate else _BY_CLASS
    bounds: Input = (summed, load.error_bound_kg, "kg")
    parts = [
        Contribution("weights", load.u_weights, "normal", f"{load.basis}; {of_value}", inputs=(bounds,)),
        Contribution(
            "drift of the weights", load.u_drift, "rectangular", of_drift, inputs=(("k_D", load.drift_factor, "1"), bounds)
        ),
        *_buoyancy(load, adjusted_before, surroundings),
    ]  # fmt: skip
    if surroundings.warmth is not None:
        parts.append(_convection(load, surroundings.warmth))
    return tuple(parts)


def _buoyancy(load: ReferenceLoad, adjusted_before: bool, surroundings: Surroundings) -> tuple[Contribution, ...]:
    if surroundings.air is None or load.volume is None:
        why = "the air was not measured" if surroundings.air is None else "a density is not known"
        return (_bound_adjusted(load, why) if adjusted_before else _bound(load, why),)
    measured = _measured(load, load.volume, surroundings.air, surroundings.of_a_balance)
    return (measured,) if adjusted_before else (measured, _air_since(load))


def _bound(load: ReferenceLoad, why: str) -> Contribution:
    source = f"(0.1 rho_0 / rho_c x m + sum of mpe / 4) / sqrt 3, cg-18 7.1.2.4: {why}"
    inputs = (*_OF_THE_AIR, ("m", load.nominal_kg, "kg"), ("sum of mpe", load.limit_kg, "kg"))
    return Contribution("buoyancy bound", load.u_buoyancy, "rectangular", source, inputs=inputs)


def _bound_adjusted(load: ReferenceLoad, why: str) -> Contribution:
    """Adjusted just before, the air is that of the adjustment: what the density of the weights leaves open is all."""
    source = f"sum of mpe / (4 sqrt 3), cg-18 7.1.2.4: {why}"
    inputs = (("sum of mpe", load.limit_kg, "kg"),)
    return Contribution("buoyancy bound", load.u_buoyancy_adjusted, "rectangular", source, inputs=inputs)


def _measured(load: ReferenceLoad, volume: Volume, air: MeasuredAir, corrected: bool) -> Contribution:
    """By the air of the visit and the density of the pieces. What is not corrected counts in full."""
    correction = buoyancy_kg(volume, air)
    of_load = (("V", volume.beyond_m3, "m3"), ("u(V)", volume.u_m3, "m3"), ("correction", correction, "kg"))
    inputs: tuple[Input, ...] = (*air.inputs, *of_load)
    u = u_buoyancy(volume, air, Decimal(0) if corrected else correction)
    return Contribution("buoyancy in measured air", u, "normal", _CORRECTED if corrected else _LEFT_OUT, inputs=inputs)


def _air_since(load: ReferenceLoad) -> Contribution:
    """The air in which the scale was adjusted is not known: within ten per cent of that of the visit."""
    source = "0.1 rho_0 / rho_c x m / sqrt 3: air when last adjusted not known, cg-18 7.1.2.4"
    inputs = (*_OF_THE_AIR, ("m", load.nominal_kg, "kg"))
    u = SHARE_OF_AIR * float(load.nominal_kg) / _SQRT3
    return Contribution("air when adjusted", u, "rectangular", source, inputs=inputs)


def _convection(load: ReferenceLoad, warmth: Warmth) -> Contribution:
    most = printed_uncertainty(load.convection_kg, 4)
    source = f"sum of dm_conv / sqrt 3, cg-18 7.1.2.5 and table F2.1; dT {warmth.source}"
    inputs = (("dT", warmth.difference_k, "K"), ("sum of dm_conv", most, "kg"))
    return Contribution("convection", float(most) / _SQRT3, "rectangular", source, inputs=inputs)
