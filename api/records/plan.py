"""A plan as it is answered: the plan, the texts of its cautions, and the digest that a submission names it by."""

from dataclasses import dataclass
from datetime import date

from api.metrology.mass import Mass
from api.metrology.plan_steps import Plan
from api.metrology.refusals import Refusal


class NoPlan(Refusal):
    """No plan can be made: the set, the technician or the ward is not known, no piece is in force that day, or the device is
    retired."""

    code = "no-plan"


@dataclass(frozen=True, slots=True)
class PlanAsked:
    """A plan as it is asked for: the day, the set, who goes, the heaviest piece that may be lifted (of this and the
    technician's own limit the lower counts), and the ward where it is tested, where that is not its own."""

    on: date
    weight_set: str | None = None
    technician: str | None = None
    largest_piece: Mass | None = None
    ward: str | None = None


@dataclass(frozen=True, slots=True)
class CautionText:
    """A caution by its number, and its text."""

    code: str
    text: str


@dataclass(frozen=True, slots=True)
class HeldPiece:
    """A piece that may not be counted on, and why."""

    piece: str
    why: str


@dataclass(frozen=True, slots=True)
class PlanRead:
    """The steps for one scale on one day; `digest` is over the plan's canonical JSON without its day, `on`: it changes with
    what the plan says and not overnight. It goes into `procedure.plan`. `held` are the pieces of the set that are left out
    because they may not be counted on."""

    digest: str
    plan: Plan
    cautions: tuple[CautionText, ...]
    held: tuple[HeldPiece, ...] = ()
