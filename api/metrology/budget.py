"""The shape of an uncertainty budget: its contributions and what they add up to. `uncertainty` does the adding."""

import math
from decimal import Decimal
from typing import Literal, NamedTuple

Distribution = Literal["rectangular", "triangular", "arcsine", "normal", "t"]


# A value that a contribution was worked out from: the symbol in its source's formula, the value, its unit as a UCUM code.
Input = tuple[str, Decimal, str]


class Contribution(NamedTuple):
    """One standard uncertainty in a budget: in kilograms, with its degrees of freedom and where it comes from.

    `inputs` are the values that its source's formula makes it from. A named tuple: a visit makes some forty of them.
    """

    name: str
    standard_uncertainty: float
    distribution: Distribution
    source: str
    degrees_of_freedom: float = math.inf
    sensitivity: float = 1.0
    inputs: tuple[Input, ...] = ()

    @property
    def share(self) -> float:
        """The contribution to the result: sensitivity times standard uncertainty, in the unit of the result."""
        return abs(self.sensitivity) * self.standard_uncertainty


class Budget(NamedTuple):
    """A complete budget: contributions, combined u, effective degrees of freedom, k, U, and U as printed."""

    contributions: tuple[Contribution, ...]
    combined: float
    effective_degrees_of_freedom: float
    k: float
    probability: float
    expanded: float
    printed: Decimal
