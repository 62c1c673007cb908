"""The smallest net load for which a balance is good enough: `minimum-weight`, by the rule whose fields are given."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated

from api.metrology import minimum_weight
from api.metrology.calculations.amounts import ComputedMass, computed, in_one_unit
from api.metrology.mass import Mass
from api.metrology.rounding import printed_least
from api.metrology.terms import Figure

Amount = Annotated[Mass | Decimal, Figure()]


@dataclass(frozen=True, slots=True)
class MinimumWeightAsked:
    """Standard deviation and division (USP 41); or alpha, beta, requirement and safety factor (cg-18 appendix G).

    Masses, or bare numbers in a unit of the asker's, in which the answer is then.
    """

    standard_deviation: Amount | None = None
    division: Amount | None = None
    alpha: Amount | None = None
    beta: Annotated[Decimal, Figure(least=Decimal(0), most=Decimal(1))] | None = None
    requirement: Annotated[Decimal, Figure(above=Decimal(0), most=Decimal(1))] | None = None
    safety_factor: Annotated[Decimal, Figure(least=Decimal(1), most=Decimal(100))] | None = None


@dataclass(frozen=True, slots=True)
class MinimumWeight:
    """The smallest net load: exact by USP 41; by cg-18 a number, with its unit and its text rounded up beside."""

    minimum_weight: ComputedMass | str | float
    source: str
    unit: str | None = None
    printed: str | None = None
    counted_standard_deviation: ComputedMass | str | None = None


def minimum_weight_of(asked: MinimumWeightAsked) -> MinimumWeight:
    """Return the minimum weight by USP 41 where a standard deviation is given, else by cg-18 appendix G.

    Refuses where the requirement leaves none (`NoMinimumWeight`).
    """
    return _by_usp(asked) if asked.standard_deviation is not None else _in_use(asked)


def _by_usp(asked: MinimumWeightAsked) -> MinimumWeight:
    assert asked.standard_deviation is not None
    assert asked.division is not None  # the wire asks for both
    (s, d), unit = in_one_unit([asked.standard_deviation, asked.division])
    return MinimumWeight(
        computed(minimum_weight.minimum_weight_usp(s, d), unit),
        "USP general chapter 41: 2000 s, s at least 0.41 d",
        counted_standard_deviation=computed(minimum_weight.counted_deviation(s, d), unit),
    )


def _in_use(asked: MinimumWeightAsked) -> MinimumWeight:
    assert asked.alpha is not None
    assert asked.beta is not None  # the wire asks for all three
    assert asked.requirement is not None
    (alpha,), unit = in_one_unit([asked.alpha])
    factor = Decimal(1) if asked.safety_factor is None else asked.safety_factor
    found = minimum_weight.minimum_weight_in_use(*map(float, (alpha, asked.beta, asked.requirement, factor)))
    source = "EURAMET cg-18 v4.0 appendix G, from memory: alpha SF / (Req - beta SF)"
    return MinimumWeight(found, source, unit, f"{printed_least(found):f}")
