"""An owner's own tolerance rule as it stands in the register, with the line that says where it comes from."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated, Literal

from api.metrology.mass import Mass
from api.metrology.terms import Between, Code, Line, Many
from api.metrology.tolerance import HouseTerm, HouseTolerance


@dataclass(frozen=True, slots=True)
class HouseRuleTerm:
    """One term: a percentage of the load, a fixed mass, or a number of divisions; exactly one of the three.

    With `above` and `up_to` it holds for some loads only: those above the one, up to and including the other.
    """

    percent: Annotated[Decimal, Between(Decimal(0), Decimal(100))] | None = None
    mass: Mass | None = None
    divisions: Annotated[Decimal, Between(Decimal(0), Decimal(1000))] | None = None
    above: Mass | None = None
    up_to: Mass | None = None

    def as_term(self) -> HouseTerm:
        """Return the term as the metrology sees it."""
        mass, above, up_to = (m.kg if m is not None else None for m in (self.mass, self.above, self.up_to))
        return HouseTerm(self.percent, mass, self.divisions, above, up_to)


@dataclass(frozen=True, slots=True)
class HouseRule:
    """A house tolerance: one term, or the larger or the smaller of several, and its source line."""

    code: Code
    terms: Annotated[tuple[HouseRuleTerm, ...], Many(6, 1)]
    source: Line
    combine: Literal["larger", "smaller"] = "larger"

    def as_tolerance(self) -> HouseTolerance:
        """Return the rule as the metrology sees it."""
        return HouseTolerance(self.code, tuple(term.as_term() for term in self.terms), self.combine, self.source)
