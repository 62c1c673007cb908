"""Gravity at a place, from latitude and height: four formulas, each by its name, and how far they may be off.

In metres per second squared, float64. A formula knows nothing of the rock below: at Gaithersburg the measured value lies
5.2e-5 above it (Tate 1966), so 1e-4 either way is taken for all of them, as a national institute says of its own
calculator. Store g itself with a record, never the formula.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, Literal

GravityFormula = Literal["wgs84", "grs80", "series-1980", "zone-formula"]

# What a value from a formula may be off, relative, either way, rectangular: PTB on its calculator, quoted publicly.
FORMULA_HALF_WIDTH: Final = 1e-4


@dataclass(frozen=True, slots=True)
class Ellipsoid:
    """A rotating ellipsoid of reference: axis a in m, flattening, GM in m3/s2, angular velocity in rad/s."""

    a: float
    flattening: float
    gm: float
    omega: float
    source: str


GRS80: Final = Ellipsoid(
    6_378_137.0, 1 / 298.257222101, 3.986005e14, 7.292115e-5,
    "Geodetic Reference System 1980 (Moritz), normal gravity in closed form",
)  # fmt: skip
WGS84: Final = Ellipsoid(
    6_378_137.0, 1 / 298.257223563, 3.986004418e14, 7.292115e-5,
    "World Geodetic System 1984 (NIMA TR 8350.2), normal gravity in closed form",
)  # fmt: skip

SERIES_1980: Final = (9.780327, 3.086e-6)  # NPL's text, quoted on a public page; "generally less than 5 parts in 1e5"
ZONE_FORMULA: Final = (9.780318, 3.085e-6)  # called the WELMEC formula on a public page; 0.9e-6 below the other
_SIN2, _SIN2_TWICE = 0.0053024, 0.0000058  # both series: NPL's text, sin2(phi) and sin2(2 phi); never sin4(phi)


def gravity_at(latitude_deg: float, height_m: float, formula: GravityFormula) -> float:
    """Return g at a latitude (north positive, degrees) and a height in metres, by the formula named.

    >>> round(gravity_at(45, 0, "grs80"), 9)
    9.806199203
    >>> round(gravity_at(52.2964, 80, "series-1980"), 9)
    9.812489503
    """
    return _FORMULAS[formula](latitude_deg, height_m)


def formula_uncertainty(g: float) -> float:
    """Return the standard uncertainty of a g that came from a formula: 1e-4 relative either way, rectangular."""
    return g * FORMULA_HALF_WIDTH / math.sqrt(3)


def _closed_form(body: Ellipsoid) -> Callable[[float, float], float]:
    """Normal gravity at a height in ellipsoidal harmonic coordinates: exact, not a series in the height.

    K. Lakshmanan, Bulletin geodesique 65 (1991); X. Li and H.-J. Goetze, Geophysics 66 (2001) 1660, equations 13-17, from
    memory. At height 0 it is Somigliana's formula. Only the component across the ellipsoid through the point is counted.
    """
    a, b = body.a, body.a * (1 - body.flattening)
    e2 = a * a - b * b
    e = math.sqrt(e2)
    q_0 = ((1 + 3 * b * b / e2) * math.atan2(e, b) - 3 * b / e) / 2

    def gravity(latitude_deg: float, height_m: float) -> float:
        across2, along = _harmonic(a, b, e2, math.radians(latitude_deg), height_m)
        whole = along * along + e2
        q = 3 * (1 + along * along / e2) * (1 - along / e * math.atan2(e, along)) - 1
        pull = body.gm / whole
        shape = (body.omega * a) ** 2 * e / whole * q / q_0 * ((1 - across2) / 2 - 1 / 6)
        spin = body.omega**2 * along * across2
        return (pull + shape - spin) / math.sqrt((along * along + e2 * (1 - across2)) / whole)

    return gravity


def _harmonic(a: float, b: float, e2: float, phi: float, h: float) -> tuple[float, float]:
    """The place in ellipsoidal harmonic coordinates: cos2 of the reduced latitude, and the half axis u in m."""
    beta = math.atan2(b * math.sin(phi), a * math.cos(phi))
    z, r = b * math.sin(beta) + h * math.sin(phi), a * math.cos(beta) + h * math.cos(phi)
    total, difference = (r * r + z * z) / e2, (r * r - z * z) / e2
    cos2 = 0.5 + total / 2 - math.sqrt(0.25 + total * total / 4 - difference / 2)
    return cos2, math.sqrt(e2 * (total - cos2))


def _series(at_equator: float, per_metre: float) -> Callable[[float, float], float]:
    def gravity(latitude_deg: float, height_m: float) -> float:
        phi = math.radians(latitude_deg)
        shape = _SIN2 * math.sin(phi) ** 2 - _SIN2_TWICE * math.sin(2 * phi) ** 2
        return at_equator * (1 + shape) - per_metre * height_m

    return gravity


_FORMULAS: Final[dict[str, Callable[[float, float], float]]] = {
    "wgs84": _closed_form(WGS84), "grs80": _closed_form(GRS80),
    "series-1980": _series(*SERIES_1980), "zone-formula": _series(*ZONE_FORMULA),
}  # fmt: skip
SOURCES: Final[dict[str, str]] = {
    "wgs84": WGS84.source, "grs80": GRS80.source,
    "series-1980": "9.780327 (1 + 0.0053024 sin2 phi - 0.0000058 sin2 2 phi) - 3.086e-6 h, as NPL gives it",
    "zone-formula": "9.780318 (1 + 0.0053024 sin2 phi - 0.0000058 sin2 2 phi) - 3.085e-6 h, called WELMEC's",
}  # fmt: skip
