"""A scale that may stand in for another: which, where, and what may be asked of it."""

from dataclasses import dataclass
from decimal import Decimal

from api.metrology.terms import Code, Kind
from api.metrology.use import MayUse


@dataclass(frozen=True, slots=True)
class NearbyScale:
    """One scale with its place, its kind and the answer on its use."""

    tag: Code
    site: Code
    ward: Code
    kind: Kind
    may: MayUse
    from_kg: Decimal | None = None
    up_to_kg: Decimal | None = None
