"""Where scales stand: sites with their gravity, and wards with what they use a weight for."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated

from api.metrology.clinical_need import ClinicalNeed
from api.metrology.mass import Mass
from api.metrology.terms import Between, Code, Line, Name, SiteCode, UseTier, Whole


@dataclass(frozen=True, slots=True)
class Gravity:
    """The acceleration of free fall at a place, m/s2, with its standard uncertainty and where it comes from."""

    g_m_s2: Annotated[Decimal, Between(Decimal("9.7"), Decimal("9.9"))]
    standard_uncertainty_m_s2: Annotated[Decimal, Between(Decimal(0), Decimal("0.01"))]
    source: Line


@dataclass(frozen=True, slots=True)
class Site:
    """A hospital site: where it is, how to reach whoever answers for its scales, gravity, time zone, local code."""

    code: SiteCode
    name: Name
    latitude_deg: Annotated[Decimal, Between(Decimal(-90), Decimal(90))]
    height_m: Annotated[Decimal, Between(Decimal(-430), Decimal(5500))]
    time_zone: Name
    address: Line | None = None
    contact: Line | None = None
    gravity: Gravity | None = None
    local_code: Line | None = None
    legal_verification_required: bool = False


@dataclass(frozen=True, slots=True)
class ClinicalLimit:
    """What the ward itself needs: the largest error that does not matter to it, beside any tolerance."""

    mass: Mass | None = None
    percent: Annotated[Decimal, Between(Decimal(0), Decimal(100))] | None = None
    source: Line | None = None


@dataclass(frozen=True, slots=True)
class Ward:
    """A ward: what it uses weights for, whom to call, and whether test weights must stay outside."""

    code: Code
    site: Code
    name: Name
    use_tier: UseTier
    call_role: Name
    call_number: Name
    clinical_limit: ClinicalLimit | None = None
    weighings_per_day: Whole | None = None
    magnet_zone: bool = False
    infection_flag: bool = False

    def as_need(self) -> ClinicalNeed | None:
        """Return what the ward needs of a weight as the metrology sees it, or None where it stated no limit."""
        limit = self.clinical_limit
        if limit is None or (limit.mass is None and limit.percent is None):
            return None
        mass_kg = limit.mass.kg if limit.mass else None
        return ClinicalNeed(self.code, mass_kg, limit.percent, limit.source or "stated by the ward, no source given")
