"""The shape of a judgement: every point, every test, each phase, and what was flagged. `judging` fills it."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Literal, NamedTuple

from api.metrology.budget import Budget
from api.metrology.change_over import ChangeOver
from api.metrology.clinical_need import ClinicalStatement
from api.metrology.decision import DecisionRule
from api.metrology.difference import Difference
from api.metrology.hysteresis import Hysteresis
from api.metrology.mass import Mass
from api.metrology.measured_air import MeasuredAir
from api.metrology.policy import Policy
from api.metrology.readings import Reading
from api.metrology.refusals import Refusal
from api.metrology.risk_by_prior import RiskByPrior
from api.metrology.scale import Range
from api.metrology.shift import Shift
from api.metrology.tolerance import Scheme, Tolerance
from api.metrology.verdict import Verdict
from api.metrology.weights import Piece, PieceShare, ReferenceLoad


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
    """From which load to which load the readings support the verdict, in kilograms; beyond it nothing is claimed.

    `directly_to_kg` is where pieces alone made the load; above it they stood on a substitute load.
    """

    from_kg: Decimal
    to_kg: Decimal
    directly_to_kg: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Change:
    """What a small added load did: indication before, load added and the most that may be, the change seen and required.

    `seen_kg` is the indication after minus the one before, exact; None where the one before was not recorded.
    """

    before: Mass | None
    added: Mass | None
    most_added_kg: Decimal
    seen_kg: Decimal | None
    required_kg: Decimal
    source: str


WeightsOutcome = Literal["good enough", "too coarse to decide it", "too coarse, but no weights would let it pass"]


class WeightsCheck(NamedTuple):
    """Whether the weights were good enough for a point: their errors times the policy's divisor against the tolerance.

    `times_divisor_kg` is what is compared with the tolerance, exact. `allowed_kg` is tolerance / divisor, for reading: a
    third has no last digit.
    """

    divisor: Decimal
    times_divisor_kg: Decimal
    allowed_kg: float
    outcome: WeightsOutcome


class PointJudgement(NamedTuple):
    """One reading judged: load, error, tolerance, budget, verdict, and the reasons where it is not plain.

    Discrimination has a change instead of an error, a tolerance and a budget. `risk` is stated where the policy has a prior
    and the point accepts or rejects. A named tuple: a visit makes one a reading, each in a third of a dataclass's time.
    """

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
    change: Change | None = None
    weights_check: WeightsCheck | None = None
    change_over: ChangeOver | None = None
    zero_shift: Shift | None = None
    risk: RiskByPrior | None = None

    @property
    def shown_kg(self) -> Decimal:
        """What was shown, in kilograms, before rounding where a change-over point says so."""
        return self.reading.indication.kg if self.change_over is None else self.change_over.before_rounding


@dataclass(frozen=True, slots=True)
class OneLoad:
    """The results of one load side by side, in kilograms: how many, the smallest, the largest, and what their range may be.

    `limit_kg` is None where the scheme sets no limit to the range, or where a result has no tolerance to make one from.
    """

    nominal_kg: Decimal
    results: int
    smallest_kg: Decimal
    largest_kg: Decimal
    limit_kg: Decimal | None
    limit_counted: str
    verdict: Verdict


@dataclass(frozen=True, slots=True)
class TimedChange:
    """How far the indication of a load left alone changed from one reading to a later one, and the most it may have."""

    load_kg: Decimal
    from_minutes: int
    to_minutes: int
    shift: Shift


class JudgedTest(NamedTuple):
    """One test of a phase: its verdict, what was measured against which limit, in words.

    What was measured passes at most at the limit, a change at least at it.
    """

    test: str
    required: bool
    verdict: Verdict
    words: str
    measured_kg: Decimal | None = None
    limit_kg: Decimal | None = None
    reasons: tuple[Flag, ...] = ()
    limit_is: Literal["at most", "at least"] = "at most"
    limit_source: str = ""
    loads: tuple[OneLoad, ...] = ()
    differences: tuple[Difference, ...] = ()
    changes: tuple[TimedChange, ...] = ()


@dataclass(frozen=True, slots=True)
class MinimumWeightFound:
    """The smallest net load for which a balance is good enough, and what it was found from; masses in kilograms.

    `by_division` says that the rounding of the display counted and not s; `enough`, that the rule's number of weighings
    was made.
    """

    weight_kg: Decimal
    s_kg: Decimal
    d_kg: Decimal
    load_kg: Decimal
    weighings: int
    by_division: bool
    enough: bool
    source: str


@dataclass(frozen=True, slots=True)
class PhaseJudgement:
    """As found or as left: scheme and rule, every point and test, the verdict, and the proven range.

    `clinical` says beside it whether the ward's own requirement is met, None where the ward has none;
    `minimum_weight` is stated for balances, `hysteresis` where a load was read both ways.
    """

    scheme: Scheme
    rule: DecisionRule
    points: tuple[PointJudgement, ...]
    tests: tuple[JudgedTest, ...]
    verdict: Verdict
    reasons: tuple[str, ...]
    proven: ProvenRange | None
    proven_words: str
    clinical: ClinicalStatement | None = None
    minimum_weight: MinimumWeightFound | None = None
    hysteresis: Hysteresis | None = None


@dataclass(frozen=True, slots=True)
class SpanLoad:
    """The load at which the span was adjusted, against the capacity of the unit it was adjusted in.

    `share` is load / capacity; `least_kg` and `advised_kg` are the policy's shares of that capacity, with their sources.
    """

    load_kg: Decimal
    capacity_kg: Decimal
    sentence: str
    heavy_enough: bool
    share: float
    least_share: Decimal
    least_kg: Decimal
    least_source: str
    advised_share: Decimal
    advised_kg: Decimal
    advised_source: str


RestsOn = Literal["own readings", "as found: nothing was adjusted", "nothing"]


@dataclass(frozen=True, slots=True)
class Judgement:
    """A visit judged: as found, as left, whether it was adjusted, the span load, flags that hold it and plain notes.

    `policy` is the one whose numbers were used, None where nothing could be judged; `shares` is what each piece brought to
    its loads, by code; `air` is that of the visit where it was measured.
    """

    as_found: PhaseJudgement | None
    as_left: PhaseJudgement | None
    as_left_rests_on: RestsOn
    adjusted: bool
    span: SpanLoad | None
    pieces: tuple[Piece, ...]
    flags: tuple[Flag, ...]
    notes: tuple[Flag, ...]
    policy: Policy | None = None
    shares: Mapping[str, PieceShare] = field(default_factory=dict)
    air: MeasuredAir | None = None

    @property
    def verdict_as_found(self) -> Verdict | None:
        """The verdict as found, or None where nothing was measured."""
        return self.as_found.verdict if self.as_found else None

    @property
    def verdict_as_left(self) -> Verdict | None:
        """The verdict as left; left unadjusted, the as-found verdict stands."""
        return self.as_left.verdict if self.as_left else None
