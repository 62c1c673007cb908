"""The shape of a plan: what it was worked out from, its steps in order, and what it asks and proves as a whole."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Literal

from api.metrology.load_points import Reason
from api.metrology.mass import Mass
from api.metrology.policy import Policy
from api.metrology.repeatability import Spread
from api.metrology.scale import Scale
from api.metrology.stock import LeftOut
from api.metrology.terms import Position, TestName
from api.metrology.tolerance import Scheme
from api.metrology.weights import Piece

# What has to be written down at a step.
Blank = Literal[
    "reading", "unit", "time", "minutes under load", "seen", "in order", "count", "number", "decision", "told", "agreed with",
]  # fmt: skip
# The parts of a plan, in the order in which they are done.
Part = Literal[
    "before anything is touched", "loads going up and down", "places", "repeated weighings", "with ballast",
    "what only this kind of scale has", "only where there is a reason", "without pieces", "in another unit",
    "deciding and leaving",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Need:
    """What the ward itself needs: the largest error that does not matter, as a mass or as a share of the load."""

    kg: Decimal | None = None
    percent: Decimal | None = None


@dataclass(frozen=True, slots=True)
class PlanFacts:
    """What a plan is worked out from. `pieces` is None where no set was named; loads are then told without pieces.

    `ward` is where it is tested and `call` whom to ask there; `dead_load_kg` is what it carries besides, as the register
    has it; `spread` is the repeatability that the register holds of it.
    """

    device: str
    on: date
    scale: Scale
    unit: str
    as_found: Scheme
    as_left: Scheme
    policy: Policy
    weight_set: str | None = None
    pieces: tuple[Piece, ...] | None = None
    heaviest_used_kg: Decimal | None = None
    safe_working_load_kg: Decimal | None = None
    dead_load_kg: Decimal | None = None
    warm_up_min: int | None = None
    magnet_zone: bool = False
    infection: bool = False
    need: Need | None = None
    lift_limit_kg: Decimal | None = None
    spread: Spread | None = None
    ward: str = ""
    call: str = ""


@dataclass(frozen=True, slots=True)
class StepTolerance:
    """The largest error that passes at a load, either way: as found, and as left after an adjustment; and the ward's need.

    At a return to zero: the most that zero may have changed by.
    """

    as_found: Mass
    as_left: Mass
    counted: str
    source: str
    ward_needs: Mass | None = None


@dataclass(frozen=True, slots=True)
class PlanStep:
    """One thing to do, in a sentence, and what to write down.

    `pieces` stand on the scale while it is read; `put_on` and `take_off` lead there from the step before. `readings` says
    how many readings the step takes, `each` names them; `added` is a load on top of what stands there. `load` is what is to
    be shown: where a `tare` was balanced out, the net load. `display_unit` is there where another unit than the plan's is
    to be shown, `in_display` then says the load in it, rounded to a hundredth of its division; `range_selected` counts the
    ranges of a multiple-range instrument from 1, the finest. `known_within` is the expanded uncertainty (k = 2) of a load
    that ballast is part of. `cannot` says why a load cannot be made of the set.
    """

    number: int
    part: Part
    name: str
    do: str
    fill: tuple[Blank, ...] = ()
    test: TestName | None = None
    position: Position | None = None
    load: Mass | None = None
    added: Mass | None = None
    tare: Mass | None = None
    in_display: Mass | None = None
    display_unit: str | None = None
    range_selected: int | None = None
    pieces: tuple[str, ...] = ()
    put_on: tuple[str, ...] = ()
    take_off: tuple[str, ...] = ()
    readings: int = 0
    each: tuple[str, ...] = ()
    tolerance: StepTolerance | None = None
    known_within: Mass | None = None
    reasons: tuple[Reason, ...] = ()
    cautions: tuple[str, ...] = ()
    only_if: str | None = None
    cannot: str | None = None


@dataclass(frozen=True, slots=True)
class Lifting:
    """How often a piece is lifted by hand if every step is done, the kilograms moved, and the lifting index of the heaviest.

    Limit and index are rounded, to 0.1 kg and to 0.01: they are numbers to plan with.
    """

    lifts: int
    kg: Decimal
    heaviest: Mass
    situation: str
    limit_kg: Decimal
    index: Decimal


@dataclass(frozen=True, slots=True)
class PieceUsed:
    """A piece that the plan places, and its nominal mass."""

    piece: str
    nominal: Mass


@dataclass(frozen=True, slots=True)
class Plan:
    """The ordered steps for one scale on one day, and what they come to. Nothing but `on` hangs on the day alone.

    `pieces` are those that its steps place, the heaviest first. `assumed` are facts that the register does not have, `stops`
    says why nothing may be loaded.
    """

    device: str
    on: date
    kind: str
    unit: str
    weight_set: str | None
    scheme: Scheme
    top_kg: Decimal
    top_words: str
    proves: str
    asks: tuple[str, ...]
    steps: tuple[PlanStep, ...]
    pieces: tuple[PieceUsed, ...] = ()
    assumed: tuple[str, ...] = ()
    lifting: Lifting | None = None
    left_out: tuple[LeftOut, ...] = ()
    stops: str | None = None

    @property
    def cautions(self) -> tuple[str, ...]:
        """Every caution of the plan once, in the order of the steps."""
        return tuple(dict.fromkeys(code for step in self.steps for code in step.cautions))
