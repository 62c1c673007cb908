"""The air of a visit: its density from what was read there, and how well that is known.

Without a temperature nothing was measured. A humidity that was not read may be any; a pressure that was not read is the
one of the site's height, with the weather about it.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Final

from api.metrology.air import RANGES, air_density_cipm_2007, density_slopes, outside_range, pressure_at_height
from api.metrology.budget import Input
from api.metrology.buoyancy import AIR_DENSITY
from api.metrology.rounding import printed_uncertainty, rounded_like
from api.metrology.submission import Environment

# How far the air at the weights may lie from a reading of a field instrument, either way: common practice, no source.
_TEMPERATURE_K, _PRESSURE_HPA, _HUMIDITY_PCT = 1.0, 2.0, 10.0
# The weather about the pressure of a height, either way, from storm to high: common practice, no source.
_WEATHER_HPA: Final = 40.0
# Outside its range CIPM-2007 was seen to differ from a published print and from R 111 E.3 by less (own comparison).
_BEYOND_RANGE: Final = 1e-3
_STEP: Final = Decimal("0.00001")  # the density is stated, and used, to 1e-5 kg/m3


@dataclass(frozen=True, slots=True)
class Climate:
    """One quantity of the climate: its value, how far off it may be either way, and what it is from."""

    value: float
    half_width: float
    source: str


@dataclass(frozen=True, slots=True)
class MeasuredAir:
    """The density of the air and its standard uncertainty in kg/m3, as printed and as used, with what they are from.

    `thinner` is by how much it is thinner than 1.2 kg/m3; `inputs` are what a contribution is made from.
    """

    density: Decimal
    u: Decimal
    temperature_c: Climate
    pressure_hpa: Climate
    humidity_pct: Climate
    source: str
    thinner: Decimal = field(init=False)
    inputs: tuple[Input, ...] = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "thinner", AIR_DENSITY - self.density)
        of_air = (("rho_a", self.density), ("u(rho_a)", self.u), ("rho_0", AIR_DENSITY))
        object.__setattr__(self, "inputs", tuple((symbol, value, "kg/m3") for symbol, value in of_air))


def measured_air(environment: Environment | None, height_m: Decimal | None) -> MeasuredAir | None:
    """Return the air of a visit, the mean of its start and end; None where temperature or pressure are not known.

    `height_m` is the site's above the sea, None where it is not known.
    """
    taken = [air for air in (environment.start, environment.end) if air] if environment else []
    temperature = _read([air.temperature_c for air in taken], _TEMPERATURE_K)
    pressure = _read([air.pressure_hpa for air in taken], _PRESSURE_HPA) or _of_height(height_m)
    if temperature is None or pressure is None:
        return None
    humidity = _read([air.humidity_pct for air in taken], _HUMIDITY_PCT)
    return _air_of(temperature, pressure, humidity or Climate(50.0, 50.0, "not read: anything from 0 to 100 %"))


def _read(values: Sequence[Decimal | None], half_width: float) -> Climate | None:
    read = [float(value) for value in values if value is not None]
    if not read:
        return None
    least, most = min(read), max(read)
    return Climate((least + most) / 2, half_width + (most - least) / 2, "read at the visit")


def _of_height(height_m: Decimal | None) -> Climate | None:
    if height_m is None:
        return None
    return Climate(
        pressure_at_height(float(height_m)), _WEATHER_HPA, f"not read: of the site's height of {height_m:f} m"
    )


def _air_of(temperature: Climate, pressure: Climate, humidity: Climate) -> MeasuredAir:
    """Half-widths are rectangular (GUM 4.3.7); the formula's own uncertainty is added as an independent one."""
    climate = temperature.value, pressure.value, humidity.value
    density = air_density_cipm_2007(*climate)
    within = not outside_range("cipm-2007", *climate)
    widths = temperature.half_width, pressure.half_width, humidity.half_width
    spread = [slope * width / math.sqrt(3) for slope, width in zip(density_slopes(*climate), widths, strict=True)]
    u = printed_uncertainty(
        math.hypot(density * (RANGES["cipm-2007"].relative_uncertainty if within else _BEYOND_RANGE), *spread)
    )
    source = RANGES["cipm-2007"].source + ("" if within else "; outside its range")
    return MeasuredAir(rounded_like(density, _STEP), u, temperature, pressure, humidity, source)
