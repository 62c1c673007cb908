"""An owner's own tolerance rule as it stands in the register, with the line that says where it comes from."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated, Literal

from api.metrology.mass import Mass
from api.metrology.terms import Between, Code, Line, Many
from api.metrology.tolerance import HouseTerm, HouseTolerance


@dataclass(frozen=True, slots=True)
class HouseRuleTerm:
    """One term: a percentage of the load, a fixed mass, or a number of divisions; exactly one of the three."""

    percent: Annotated[Decimal, Between(Decimal(0), Decimal(100))] | None = None
    mass: Mass | None = None
    divisions: Annotated[Decimal, Between(Decimal(0), Decimal(1000))] | None = None


@dataclass(frozen=True, slots=True)
class HouseRule:
    """A house tolerance: one term, or the larger or the smaller of several, and its source line."""

    code: Code
    terms: Annotated[tuple[HouseRuleTerm, ...], Many(6, 1)]
    source: Line
    combine: Literal["larger", "smaller"] = "larger"

    def as_tolerance(self) -> HouseTolerance:
        """Return the rule as the metrology sees it."""
        terms = tuple(HouseTerm(t.percent, t.mass.kg if t.mass else None, t.divisions) for t in self.terms)
        return HouseTolerance(self.code, terms, self.combine, self.source)
