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


class EmptyAcceptanceZone(Refusal):
    """The guard band is wider than the tolerance, so that nothing could be accepted."""

    code = "empty-acceptance-zone"


class BadRule(Refusal):
    """A rule, scheme, edition or stage that is not known, or is not complete."""

    code = "bad-rule"


class BadChangeOver(Refusal):
    """Small weights added up to a change-over point that no display of that step would have needed."""

    code = "bad-change-over"
