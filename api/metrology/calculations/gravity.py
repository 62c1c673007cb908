"""Gravity at a place and what a move between two places does to a scale: `gravity`, `relocation`."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated, Literal

from api.metrology import gravity, relocation
from api.metrology.mass import Mass
from api.metrology.terms import Figure


@dataclass(frozen=True, slots=True)
class GravityAsked:
    """A place by its latitude (north positive) and height above the sea, and the formula."""

    latitude_deg: Annotated[Decimal, Figure(least=Decimal(-90), most=Decimal(90))]
    formula: Literal["wgs84", "grs80", "series-1980", "zone-formula"]
    height_m: Annotated[Decimal, Figure(least=Decimal(-500), most=Decimal(9000))] = Decimal(0)


# A value of g anywhere on Earth: measured values lie between 9.76 and 9.84 m/s2 (from memory).
MeasuredGravity = Figure(least=Decimal("9.7"), most=Decimal("9.9"))


@dataclass(frozen=True, slots=True)
class GravityFound:
    """g, its standard uncertainty as a value from a formula (1e-4 either way, rectangular), and the formula's source."""

    g_m_s2: float
    standard_uncertainty: float
    source: str


def gravity_of(asked: GravityAsked) -> GravityFound:
    """Return g at the place by the formula named."""
    g = gravity.gravity_at(float(asked.latitude_deg), float(asked.height_m), asked.formula)
    return GravityFound(g, gravity.formula_uncertainty(g), gravity.SOURCES[asked.formula])


@dataclass(frozen=True, slots=True)
class RelocationAsked:
    """A load, and g where the scale was adjusted and where it is used: a measured value, or a place and a formula.

    A measured value has the standard uncertainty given beside it, or none.
    """

    load: Mass
    g_from: Annotated[GravityAsked | Decimal, MeasuredGravity]
    g_to: Annotated[GravityAsked | Decimal, MeasuredGravity]
    g_from_standard_uncertainty: Annotated[Decimal, Figure(least=Decimal(0), most=Decimal("0.1"))] | None = None
    g_to_standard_uncertainty: Annotated[Decimal, Figure(least=Decimal(0), most=Decimal("0.1"))] | None = None


@dataclass(frozen=True, slots=True)
class Relocation:
    """The error the move leaves at the load, in the load's unit, its standard uncertainty, and both values of g."""

    shift: float
    standard_uncertainty: float
    unit: str
    relative: float
    indication: float
    g_from_m_s2: float
    g_to_m_s2: float


def relocation_of(asked: RelocationAsked) -> Relocation:
    """Return load x (g_to / g_from - 1), positive where the scale now reads heavy, for a scale not adjusted on site."""
    one = _value(asked.g_from, asked.g_from_standard_uncertainty)
    other = _value(asked.g_to, asked.g_to_standard_uncertainty)
    load = float(asked.load.value)
    found = relocation.relocation_shift(load, one, other)
    return Relocation(
        found.shift, found.standard_uncertainty, asked.load.unit, found.relative, load + found.shift, one.g, other.g
    )


def _value(asked: GravityAsked | Decimal, u: Decimal | None) -> relocation.Gravity:
    if isinstance(asked, Decimal):
        return relocation.Gravity(float(asked), float(u or 0))
    found = gravity_of(asked)
    return relocation.Gravity(found.g_m_s2, found.standard_uncertainty)
