"""The density of air: from temperature, pressure and humidity, or from the height alone.

In kilograms per cubic metre, float64. Three formulas, each with its range and its own relative standard uncertainty;
what the readings of the climate add to it is the caller's. For patient scales none of this matters (1.5e-5 of the
load against a tolerance of 1.5e-4 at least); it matters for a balance of 1e5 divisions.
"""

import math
from dataclasses import dataclass
from typing import Final, Literal

from api.metrology.buoyancy import RHO_0

AirFormula = Literal["cipm-2007", "simplified", "height"]
KELVIN_AT_0_C: Final = 273.15

# CIPM-2007: A. Picard et al., Metrologia 45 (2008) 149, equation 1 and appendix A; read in a public package's source.
_R: Final = 8.314472  # J/(mol K), the value of the paper; the exact R of 2019 changes the density by 1.1e-6 of itself
_M_V: Final = 18.01528e-3  # kg/mol, water, Picard et al. (2008)
_X_CO2: Final = 0.0004  # mole fraction of carbon dioxide, Picard et al. (2008)
_M_A: Final = (28.96546 + 12.011 * (_X_CO2 - 0.0004)) * 1e-3  # kg/mol, dry air, Picard et al. (2008)
_SATURATION: Final = (1.2378847e-5, -1.9121316e-2, 33.93711047, -6.3431645e3)  # Picard et al. (2008) A1.1
_ENHANCEMENT: Final = (1.00062, 3.14e-8, 5.6e-7)  # Picard et al. (2008) A1.2
_A: Final = (1.58123e-6, -2.9331e-8, 1.1043e-10)  # Picard et al. (2008) A1.4, compressibility
_B: Final = (5.707e-6, -2.051e-8)  # the same
_C: Final = (1.9898e-4, -2.376e-6)  # the same
_D, _E = 1.83e-11, -0.765e-8  # the same


@dataclass(frozen=True, slots=True)
class AirRange:
    """Where a formula of the air's density was published to hold, and the relative standard uncertainty it has there."""

    pressure_hpa: tuple[float, float]
    temperature_c: tuple[float, float]
    most_humidity_pct: float
    relative_uncertainty: float
    source: str


RANGES: Final[dict[str, AirRange]] = {
    "cipm-2007": AirRange((600, 1100), (15, 27), 100, 22e-6, "CIPM-2007: Picard et al., Metrologia 45 (2008) 149"),
    "simplified": AirRange((900, 1100), (10, 30), 80, 2e-4, "OIML R 111-1:2004 E.3-1, range from memory"),
}


def air_density_cipm_2007(temperature_c: float, pressure_hpa: float, relative_humidity_pct: float) -> float:
    """Return the density of air by CIPM-2007, in kg/m3, carbon dioxide at 400 parts in a million.

    Published for 600 to 1100 hPa and 15 to 27 C; beyond it goes on, and `outside_range` says so.

    >>> round(air_density_cipm_2007(20, 1013.25, 50), 8)
    1.1993139
    """
    kelvin, pascal = temperature_c + KELVIN_AT_0_C, pressure_hpa * 100
    vapour = vapour_fraction(temperature_c, pascal, relative_humidity_pct / 100)
    z = _compressibility(temperature_c, pascal, vapour)
    return pascal * _M_A / (z * _R * kelvin) * (1 - vapour * (1 - _M_V / _M_A))


def vapour_fraction(temperature_c: float, pascal: float, humidity: float) -> float:
    """Return the mole fraction of water vapour: humidity x enhancement x saturation pressure / pressure."""
    kelvin = temperature_c + KELVIN_AT_0_C
    a, b, c, d = _SATURATION
    saturation = math.exp(a * kelvin**2 + b * kelvin + c + d / kelvin)
    alpha, beta, gamma = _ENHANCEMENT
    return humidity * (alpha + beta * pascal + gamma * temperature_c**2) * saturation / pascal


def _compressibility(t: float, pascal: float, x: float) -> float:
    ratio = pascal / (t + KELVIN_AT_0_C)
    first = _A[0] + _A[1] * t + _A[2] * t**2 + (_B[0] + _B[1] * t) * x + (_C[0] + _C[1] * t) * x**2
    return 1 - ratio * first + ratio**2 * (_D + _E * x**2)


def air_density_simplified(temperature_c: float, pressure_hpa: float, relative_humidity_pct: float) -> float:
    """Return the density of air by the simplified formula of OIML R 111-1:2004 E.3-1, in kg/m3 (from memory, high).

    Its relative standard uncertainty is 2e-4 for 900 to 1100 hPa, 10 to 30 C and less than 80 % humidity.

    >>> round(air_density_simplified(20, 1000, 50), 8)
    1.18354346
    """
    vapour = 0.009 * relative_humidity_pct * math.exp(0.061 * temperature_c)  # R 111-1:2004 E.3-1
    return (0.34848 * pressure_hpa - vapour) / (KELVIN_AT_0_C + temperature_c)  # R 111-1:2004 E.3-1


def air_density_at_height(height_m: float) -> float:
    """Return the density of air that a height above the sea suggests, in kg/m3: 1.2 exp(-1.2 x 9.81 h / 101 325).

    OIML R 111-1:2004 annex E.3, from memory (high). The weather moves it by some ten per cent either way.

    >>> round(air_density_at_height(1000), 4)
    1.0684
    """
    return RHO_0 * math.exp(-RHO_0 * 9.81 * height_m / 101_325)  # R 111-1:2004 E.3


def density_slopes(
    temperature_c: float, pressure_hpa: float, relative_humidity_pct: float
) -> tuple[float, float, float]:
    """Return how the density changes by kelvin, hectopascal and per cent of humidity: the slopes of R 111-1 E.3-1.

    >>> [round(slope, 6) for slope in density_slopes(20, 1000, 50)]
    [-0.004355, 0.001189, -0.000104]
    """
    kelvin = KELVIN_AT_0_C + temperature_c
    by_humidity = -0.009 * math.exp(0.061 * temperature_c) / kelvin  # R 111-1:2004 E.3-1
    density = air_density_simplified(temperature_c, pressure_hpa, relative_humidity_pct)
    return 0.061 * relative_humidity_pct * by_humidity - density / kelvin, 0.34848 / kelvin, by_humidity


def pressure_at_height(height_m: float) -> float:
    """Return the pressure that a height above the sea suggests, in hPa: 1013.25 exp(-1.2 x 9.81 h / 101 325).

    The exponent of OIML R 111-1:2004 annex E.3, from memory (high), with the standard atmosphere at the sea.

    >>> round(pressure_at_height(1000), 1)
    902.1
    """
    return 1013.25 * math.exp(-RHO_0 * 9.81 * height_m / 101_325)  # R 111-1:2004 E.3


def outside_range(
    formula: AirFormula, temperature_c: float, pressure_hpa: float, relative_humidity_pct: float
) -> tuple[str, ...]:
    """Return a sentence for each reading that lies outside the range for which the formula was published."""
    held = RANGES[formula]
    asked = (
        ("pressure", pressure_hpa, *held.pressure_hpa, "hPa"),
        ("temperature", temperature_c, *held.temperature_c, "C"),
        ("relative humidity", relative_humidity_pct, 0, held.most_humidity_pct, "%"),
    )
    return tuple(
        f"The {what} of {value:g} {unit} is outside {least:g} to {most:g} {unit}, for which {formula} was published; "
        "its stated uncertainty does not hold there."
        for what, value, least, most, unit in asked
        if not least <= value <= most
    )
