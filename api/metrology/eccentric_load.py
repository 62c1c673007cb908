"""Which load goes to the corners: the scheme's share of capacity, and less where the kind or the safe load asks for it."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from api.metrology.mass import EXACT
from api.metrology.pieces_for_loads import window_of
from api.metrology.scale import Scale, capacity_in
from api.metrology.tolerance import Scheme

# HB 44 2.20 N.1.3, from memory: one-third of capacity, meaning 30 to 35 % of it.
_LEAST, _THIRD, _MOST = Decimal("0.30"), Decimal("0.33"), Decimal("0.35")
_CAPPED_FROM: Final = Decimal("0.9")


@dataclass(frozen=True, slots=True)
class EccentricLoad:
    """The load for the corners in kg, the least and the greatest that serve, its share of capacity, why, and the source."""

    kg: Decimal
    least_kg: Decimal
    most_kg: Decimal
    share: float
    words: str
    source: str


def eccentric_load(scale: Scale, scheme: Scheme, unit: str, limit_kg: Decimal, cap_kg: Decimal | None) -> EccentricLoad:
    """Return the load for the corners in kilograms, never above the safe load or the cap of the kind.

    HB 44 and house rules: 30 to 35 % of capacity. R 76-1 3.6.2: one third of Max, with n > 4 supports 1 / (n - 1).
    """
    top = capacity_in(scale, unit).max_kg
    if scheme.name == "r76" and scale.supports > 4:
        kg = EXACT.divide_int(EXACT.multiply(top, Decimal(1000)), Decimal(scale.supports - 1))
        kg = EXACT.multiply(kg, Decimal("0.001"))
        found = _of(kg, *window_of(kg), top, f"Max / ({scale.supports} - 1)", "OIML R 76-1:2006 3.6.2, second hand")
    else:
        source = "OIML R 76-1:2006 3.6.2, second hand" if scheme.name == "r76" else "NIST HB 44 2.20 N.1.3, from memory"
        found = _of(
            EXACT.multiply(top, _THIRD), EXACT.multiply(top, _LEAST), EXACT.multiply(top, _MOST), top,
            "one third of Max, 30 to 35 %", source,
        )  # fmt: skip
    caps = [cap for cap in (cap_kg, limit_kg) if cap is not None and cap < found.most_kg]
    if not caps:
        return found
    cap = min(caps)
    if cap >= found.least_kg:
        return _of(min(found.kg, cap), found.least_kg, cap, top, found.words, found.source)
    least = EXACT.multiply(cap, _CAPPED_FROM)
    return _of(cap, least, cap, top, f"no more than {cap:f} kg is safe there", "common practice, no source")


def _of(kg: Decimal, least: Decimal, most: Decimal, top: Decimal, words: str, source: str) -> EccentricLoad:
    return EccentricLoad(kg, least, most, float(kg) / float(top), words, source)
