"""The density of air, and buoyancy in it: `air-density`, `buoyancy`, `conventional-mass`."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated, Literal

from api.metrology import air, buoyancy
from api.metrology.mass import Mass
from api.metrology.terms import Figure

# Lighter than 10 kg/m3 is no weight, heavier than 25 000 no metal (osmium 22 590).
Density = Annotated[Decimal, Figure(least=Decimal(10), most=Decimal(25_000))]


@dataclass(frozen=True, slots=True)
class AirDensityAsked:
    """The climate and the formula; for `height` the height above the sea alone."""

    formula: Literal["cipm-2007", "simplified", "height"]
    temperature_c: Annotated[Decimal, Figure(least=Decimal(-40), most=Decimal(60))] | None = None
    pressure_hpa: Annotated[Decimal, Figure(least=Decimal(500), most=Decimal(1100))] | None = None
    relative_humidity_pct: Annotated[Decimal, Figure(least=Decimal(0), most=Decimal(100))] | None = None
    height_m: Annotated[Decimal, Figure(least=Decimal(-500), most=Decimal(9000))] | None = None


@dataclass(frozen=True, slots=True)
class AirDensity:
    """The density, the formula's own relative standard uncertainty where it holds, its source, and what lies outside."""

    density_kg_m3: float
    relative_uncertainty: float | None
    source: str
    outside_range: tuple[str, ...]


def air_density(asked: AirDensityAsked) -> AirDensity:
    """Return the density of air by the formula named; a reading outside its published range is said, not refused."""
    if asked.formula == "height":
        assert asked.height_m is not None  # the wire asks for it
        return AirDensity(air.air_density_at_height(float(asked.height_m)), None, "OIML R 111-1:2004 annex E.3", ())
    assert asked.temperature_c is not None  # the wire asks for all three
    assert asked.pressure_hpa is not None
    assert asked.relative_humidity_pct is not None
    climate = float(asked.temperature_c), float(asked.pressure_hpa), float(asked.relative_humidity_pct)
    outside = air.outside_range(asked.formula, *climate)
    by = air.air_density_cipm_2007 if asked.formula == "cipm-2007" else air.air_density_simplified
    held = air.RANGES[asked.formula]
    return AirDensity(by(*climate), None if outside else held.relative_uncertainty, held.source, outside)


@dataclass(frozen=True, slots=True)
class BuoyancyAsked:
    """A load by its nominal value, the density of its material, and that of the air."""

    nominal: Mass
    density_kg_m3: Density
    air_density_kg_m3: Annotated[Decimal, Figure(above=Decimal(0), most=Decimal(2))]


@dataclass(frozen=True, slots=True)
class Buoyancy:
    """What the air adds to the load's effect on a scale adjusted just before, in the unit of the nominal value."""

    correction: float
    unit: str
    source: str


def buoyancy_of(asked: BuoyancyAsked) -> Buoyancy:
    """Return -m_N (rho_a - rho_0)(1/rho - 1/rho_c), positive where the pieces press harder than their mass says."""
    found = buoyancy.buoyancy_correction(
        float(asked.nominal.value), float(asked.density_kg_m3), float(asked.air_density_kg_m3)
    )
    return Buoyancy(found, asked.nominal.unit, "EURAMET cg-18 v4.0 4.2.4, OIML D 28")


@dataclass(frozen=True, slots=True)
class ConventionalMassAsked:
    """A mass and the density of its material."""

    mass: Mass
    density_kg_m3: Density


@dataclass(frozen=True, slots=True)
class ConventionalMass:
    """The conventional mass, in the unit of the mass."""

    conventional_mass: float
    unit: str
    source: str


def conventional_mass_of(asked: ConventionalMassAsked) -> ConventionalMass:
    """Return m (1 - rho_0/rho) / (1 - rho_0/rho_c), for air of 1.2 and weights of 8000 kg/m3."""
    found = buoyancy.conventional_mass(float(asked.mass.value), float(asked.density_kg_m3))
    return ConventionalMass(found, asked.mass.unit, "OIML D 28:2004, OIML R 111-1:2004")
