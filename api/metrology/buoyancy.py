"""Buoyancy: what the air's density does to a test load, and the conventional mass of a mass.

Densities in kilograms per cubic metre, float64. Nothing here is ever applied to a patient's weight: that a body weighs
0.1 % less in air than in nothing is a definition, not an error of the scale.
"""

from decimal import Decimal
from typing import Final

# OIML D 28:2004 and R 111-1:2004 definition of conventional mass: at 20 C, in air of 1.2 kg/m3, against weights of
# 8000 kg/m3; read in public documentation that quotes them.
AIR_DENSITY, REFERENCE_DENSITY = Decimal("1.2"), Decimal(8000)
RHO_0: Final = float(AIR_DENSITY)
RHO_C: Final = float(REFERENCE_DENSITY)


def buoyancy_correction(nominal: float, density: float, air_density: float) -> float:
    """Return what the air adds to the effect of a load, against its conventional mass, in the unit of the nominal value.

    -m_N (rho_a - rho_0)(1/rho - 1/rho_c): EURAMET cg-18 v4.0 4.2.4, OIML D 28. Positive where the pieces press harder
    on the scale than their conventional mass says: lighter than 8000 kg/m3, in air thinner than 1.2 kg/m3. It takes the
    scale as adjusted just before, in the same air.

    >>> round(buoyancy_correction(10_000, 7100, 1.1), 6)
    0.015845
    """
    return -nominal * (air_density - RHO_0) * (1 / density - 1 / RHO_C)


def conventional_mass(mass: float, density: float) -> float:
    """Return the conventional mass of a body, in the unit of its mass: m (1 - rho_0/rho) / (1 - rho_0/rho_c).

    OIML D 28:2004. The same body weighs this much on a scale adjusted with weights, in air of 1.2 kg/m3.

    >>> round(conventional_mass(1, 2700), 10)
    0.9997055114
    """
    return mass * (1 - RHO_0 / density) / (1 - RHO_0 / RHO_C)
