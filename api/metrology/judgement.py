"""The shape of a judgement: every point, every test, each phase, and what was flagged. `judging` fills it."""

from dataclasses import dataclass, field
from decimal import Decimal
from typing import Literal

from api.metrology.budget import Budget
from api.metrology.change_over import ChangeOver
from api.metrology.decision import DecisionRule
from api.metrology.readings import Reading
from api.metrology.refusals import Refusal
from api.metrology.scale import Range
from api.metrology.shift import Shift
from api.metrology.tolerance import Scheme, Tolerance
from api.metrology.verdict import Verdict
from api.metrology.weights import Piece, ReferenceLoad


@dataclass(frozen=True, slots=True)
class Flag:
    """Something a person has to look at, or a reason: a stable code, a sentence, the facts, where in what was sent."""

    code: str
    sentence: str
    facts: dict[str, str] = field(default_factory=dict)
    pointer: str | None = None


def flag_of(refusal: Refusal, pointer: str | None = None) -> Flag:
    """Return a refusal as a flag: same code, same sentence, same facts."""
    return Flag(refusal.code, refusal.sentence, refusal.facts, pointer)


@dataclass(frozen=True, slots=True)
class ProvenRange:
    """From which load to which load the readings support the verdict, in kilograms; beyond it nothing is claimed."""

    from_kg: Decimal
    to_kg: Decimal


@dataclass(frozen=True, slots=True)
class PointJudgement:
    """One reading judged: load, error, tolerance, budget, verdict, and the reasons where it is not plain."""

    reading: Reading
    nominal_kg: Decimal
    in_use: Range | None
    load: ReferenceLoad | None
    error_kg: Decimal | None
    tolerance: Tolerance | None
    budget: Budget | None
    probability: float | None
    verdict: Verdict
    reasons: tuple[Flag, ...] = ()
    change_over: ChangeOver | None = None
    zero_shift: Shift | None = None

    @property
    def shown_kg(self) -> Decimal:
        """What was shown, in kilograms, before rounding where a change-over point says so."""
        return self.reading.indication.kg if self.change_over is None else self.change_over.point_kg


@dataclass(frozen=True, slots=True)
class JudgedTest:
    """One test of a phase: its verdict, what was measured against which limit, in words; where the limit comes from."""

    test: str
    required: bool
    verdict: Verdict
    words: str
    measured_kg: Decimal | None = None
    limit_kg: Decimal | None = None
    reasons: tuple[Flag, ...] = ()
    limit_source: str = ""


@dataclass(frozen=True, slots=True)
class PhaseJudgement:
    """As found or as left: scheme and rule, every point and test, the verdict, and the proven range."""

    scheme: Scheme
    rule: DecisionRule
    points: tuple[PointJudgement, ...]
    tests: tuple[JudgedTest, ...]
    verdict: Verdict
    reasons: tuple[str, ...]
    proven: ProvenRange | None
    proven_words: str


@dataclass(frozen=True, slots=True)
class SpanLoad:
    """The load at which the span was adjusted, against the capacity of the unit it was adjusted in."""

    load_kg: Decimal
    capacity_kg: Decimal
    sentence: str
    heavy_enough: bool


RestsOn = Literal["own readings", "as found: nothing was adjusted", "nothing"]


@dataclass(frozen=True, slots=True)
class Judgement:
    """A visit judged: as found, as left, whether it was adjusted, the span load, flags that hold it and plain notes."""

    as_found: PhaseJudgement | None
    as_left: PhaseJudgement | None
    as_left_rests_on: RestsOn
    adjusted: bool
    span: SpanLoad | None
    pieces: tuple[Piece, ...]
    flags: tuple[Flag, ...]
    notes: tuple[Flag, ...]

    @property
    def verdict_as_found(self) -> Verdict | None:
        """The verdict as found, or None where nothing was measured."""
        return self.as_found.verdict if self.as_found else None

    @property
    def verdict_as_left(self) -> Verdict | None:
        """The verdict as left; left unadjusted, the as-found verdict stands."""
        return self.as_left.verdict if self.as_left else None
