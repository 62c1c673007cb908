"""What the points of one phase share: what was already worked out in the visit, and what they are judged by."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

from api.metrology.budget import Budget, Contribution
from api.metrology.change_over import ZeroTaken, exact_indication
from api.metrology.clinical_need import ClinicalNeed
from api.metrology.contributions import Corners
from api.metrology.decision import DecisionRule
from api.metrology.judgement import PointJudgement, WeightsCheck
from api.metrology.policy import Policy
from api.metrology.readings import Reading
from api.metrology.refusals import NoReferenceValue, Refusal
from api.metrology.repeatability import Spread
from api.metrology.scale import Scale
from api.metrology.tolerance import Scheme, Tolerance
from api.metrology.weights import Piece, PieceShare, ReferenceLoad, Volume, nominal_sum, reference_load
from api.metrology.weights_in_air import NOT_MEASURED, Surroundings, in_surroundings

ZERO = Decimal(0)
UNLOADED = ("zero found", "zero set")
NO_LOAD = ReferenceLoad((), ZERO, ZERO, 0.0, 0.0, 0.0, 0.0, ZERO, "no load", volume=Volume(ZERO, ZERO))


@dataclass(slots=True)
class Worked:
    """What was already worked out in this visit: points share loads, ranges and tolerances, and so the arithmetic."""

    pieces: Mapping[str, Piece]
    policy: Policy
    surroundings: Surroundings = NOT_MEASURED
    nominals: dict[tuple[str, ...], Decimal] = field(default_factory=dict)
    loads: dict[tuple[str, ...], ReferenceLoad | Refusal] = field(default_factory=dict)
    shares: dict[str, PieceShare] = field(default_factory=dict)

    def nominal(self, reading: Reading) -> Decimal:
        """Return the nominal load in kg: of the pieces where all are known, else as the app declared it, else 0."""
        if not reading.pieces:
            return declared(reading)
        if reading.pieces not in self.nominals:
            try:
                self.nominals[reading.pieces] = nominal_sum(reading.pieces, self.pieces)
            except NoReferenceValue:
                return declared(reading)
        return self.nominals[reading.pieces]

    def load(self, codes: tuple[str, ...]) -> ReferenceLoad | Refusal:
        """Return the reference load of pieces, or what is refused about it."""
        if codes not in self.loads:
            try:
                load = reference_load(codes, self.pieces, self.policy, self.shares)
                self.loads[codes] = in_surroundings(load, self.shares, self.surroundings)
            except Refusal as refusal:
                self.loads[codes] = refusal
        return self.loads[codes]


@dataclass(slots=True)
class PhaseContext:
    """Everything that stays the same for the points of one phase.

    `by_seq` holds the phase's readings by number where one of them leads back to another. What is worked out once is kept
    by the range itself (its `id`): the scale holds it, and it is asked for at every point.
    """

    scale: Scale
    scheme: Scheme
    rule: DecisionRule
    worked: Worked
    spread: Spread | None
    corners: Corners | None
    adjusted_before: bool
    zeros: tuple[ZeroTaken, ...] = ()
    by_seq: Mapping[int, Reading] = field(default_factory=dict)
    clinical: ClinicalNeed | None = None
    tolerances: dict[tuple[int, Decimal], Tolerance | Refusal] = field(default_factory=dict)
    shared: dict[object, tuple[Contribution, ...]] = field(default_factory=dict)
    budgets: dict[object, Budget] = field(default_factory=dict)
    judged: dict[object, PointJudgement] = field(default_factory=dict)
    checks: dict[object, WeightsCheck] = field(default_factory=dict)


def declared(reading: Reading) -> Decimal:
    """Return the load in kilograms as the app declared it, 0 where it did not."""
    return reading.load.kg if reading.load is not None else ZERO


def zeros_taken(readings: Sequence[Reading], scale: Scale, worked: Worked) -> tuple[ZeroTaken, ...]:
    """Return the readings at zero in the order given; one near zero, with a small load on, stands for zero too."""
    return tuple(
        ZeroTaken(r.seq, r.indication.kg, _zero_error(r, scale, worked)) for r in readings if r.test in UNLOADED
    )


def _zero_error(reading: Reading, scale: Scale, worked: Worked) -> Decimal | None:
    load = worked.load(reading.pieces) if reading.pieces else NO_LOAD
    if reading.change_over_added is None or isinstance(load, Refusal):
        return None
    try:
        return exact_indication(reading, scale) - load.reference_kg
    except Refusal:  # its own point says why
        return None


def readings_led_back_to(readings: Sequence[Reading]) -> dict[int, Reading]:
    """Return the readings of a phase by number where any of them stands on a substitute load, else nothing."""
    if all(reading.substitution is None for reading in readings):
        return {}
    return {reading.seq: reading for reading in readings}
