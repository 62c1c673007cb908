"""A reference load in the air it stood in: buoyancy where the air was measured, and for a balance convection too.

What the air adds to a load's effect corrects the reference value of a balance; that of any other scale stays what the
certificates say, a few parts in a million apart, and the budget holds what was left out.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from api.metrology.convection import Warmth, convection_mg
from api.metrology.measured_air import MeasuredAir
from api.metrology.rounding import ROUNDING
from api.metrology.weights import PieceShare, ReferenceLoad, Volume

# Corrections are stated to a tenth of a microgram: a tenth of the finest division there is.
_STEP: Final = Decimal("1E-10")


@dataclass(frozen=True, slots=True)
class Surroundings:
    """What the weights stood in: the air where it was measured, and on a balance how far they were from its temperature."""

    air: MeasuredAir | None = None
    warmth: Warmth | None = None

    @property
    def of_a_balance(self) -> bool:
        """Whether the scale is a balance: what the air does is corrected, and convection counts."""
        return self.warmth is not None


NOT_MEASURED: Final = Surroundings()


def in_surroundings(load: ReferenceLoad, shares: Mapping[str, PieceShare], surroundings: Surroundings) -> ReferenceLoad:
    """Return a load as a balance feels it: its reference corrected for buoyancy where that is known, convection stated.

    Convections of several pieces are added arithmetically: they came from the same place (cg-18 7.1.2.5, from memory).
    """
    if surroundings.warmth is None:
        return load
    apart = float(surroundings.warmth.difference_k)
    moved = math.fsum(convection_mg(float(shares[code].nominal_kg), apart) for code in load.pieces)
    correction = Decimal(0)
    if surroundings.air is not None and load.volume is not None:
        correction = buoyancy_kg(load.volume, surroundings.air)
    return load._replace(
        reference_kg=load.reference_kg + correction, buoyancy_kg=correction, convection_kg=moved * 1e-6
    )


def buoyancy_kg(volume: Volume, air: MeasuredAir) -> Decimal:
    """Return what measured air adds to the effect of a load, exact to 1e-10 kg: -(rho_a - rho_0) V (cg-18 v4.0 4.2.4)."""
    return (air.thinner * volume.beyond_m3).quantize(_STEP, context=ROUNDING) + Decimal(0)


def u_buoyancy(volume: Volume, air: MeasuredAir, left_out_kg: Decimal) -> float:
    """Return the standard uncertainty of buoyancy in measured air, in kg.

    The root of (u(rho_a) V)^2 + ((rho_a - rho_0) u(V))^2, cg-18 v4.0 7.1.2.4; a correction that was left out counts in
    full beside them (house rule).
    """
    by_air, by_density = air.u * volume.beyond_m3, air.thinner * volume.u_m3
    return math.hypot(by_air, by_density, left_out_kg)
