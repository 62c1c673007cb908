"""What the trade says no to: named refusals that carry a code, a sentence and the facts.

A refusal is not a bug. Calculators answer with it; `judging` turns it into `undecided` and a flag with the same code.
"""

from typing import ClassVar


class Refusal(Exception):
    """A rule of the trade forbids the answer; `sentence` says what was found and what would be accepted."""

    code: ClassVar[str] = "refused"

    def __init__(self, sentence: str, **facts: str) -> None:
        super().__init__(sentence)
        self.sentence = sentence
        self.facts = facts


class UnknownUnit(Refusal):
    """A unit that is not on the list of UCUM codes used for weighing."""

    code = "unknown-unit"


class NotAMass(Refusal):
    """Text that is not a plain decimal number."""

    code = "not-a-mass"


class NoSuchRange(Refusal):
    """The scale has no weighing range for that unit or load."""

    code = "no-such-range"


class OverCapacity(Refusal):
    """The load lies above the capacity (Max) of the scale in the unit in use."""

    code = "over-capacity"


class NoTableValue(Refusal):
    """The table of the scheme or weight class has no row for the question; nothing is extrapolated."""

    code = "no-table-value"


class NoReferenceValue(Refusal):
    """A load has no reference value: a piece is unknown, or no certificate of it was in force that day."""

    code = "no-reference-value"


class OffGrid(Refusal):
    """A reading that the display cannot show: not a multiple of the division of the range in use."""

    code = "off-grid"


class TooFewReadings(Refusal):
    """Fewer readings than the calculation needs."""

    code = "too-few-readings"


class ImpossibleCorrelations(Refusal):
    """Correlation coefficients that no quantities can have among each other."""

    code = "impossible-correlations"


class NegativeVariance(Refusal):
    """Second-order terms that take more away than the first order has: two orders do not describe the model."""

    code = "negative-variance"


class EmptyAcceptanceZone(Refusal):
    """The guard band is wider than the tolerance, so that nothing could be accepted."""

    code = "empty-acceptance-zone"


class NoChangeOver(Refusal):
    """Small weights that cannot have raised an indication by one verification interval."""

    code = "no-change-over"


class NoMinimumWeight(Refusal):
    """The uncertainty grows with the load as fast as the requirement allows: no load is good enough."""

    code = "no-minimum-weight"


class MixedUnits(Refusal):
    """Masses that are not all bare numbers or all in units, so that they cannot be brought together."""

    code = "mixed-units"


class UnknownCalculation(Refusal):
    """A name that is no kind of calculation."""

    code = "not-found"


class BadRule(Refusal):
    """A rule, scheme, edition or stage that is not known, or is not complete."""

    code = "bad-rule"


class NotDetermined(Refusal):
    """Fewer observations than unknowns, or observations that cannot tell the unknowns apart."""

    code = "not-determined"


class GeometryCannotTell(Refusal):
    """The places where the load stood cannot tell the supports apart."""

    code = "geometry-cannot-tell"


class NothingToComputeFrom(Refusal):
    """Nothing on record that the calculation could start from."""

    code = "nothing-to-compute-from"


class NoPiecesForLoad(Refusal):
    """A load cannot be made of the pieces at hand: too coarse, not heavy enough, or no combination."""

    code = "no-pieces-for-load"


class NotAlike(Refusal):
    """A piece and what it is compared with are not of one nominal mass."""

    code = "not-alike"
