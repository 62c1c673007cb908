"""A plan as it is answered: the plan, the texts of its cautions, and the digest that a submission names it by."""

from dataclasses import dataclass

from api.metrology.plan_steps import Plan
from api.metrology.refusals import Refusal


class NoPlan(Refusal):
    """No plan can be made: the set is not known or has no piece in force that day, or the device is retired."""

    code = "no-plan"


@dataclass(frozen=True, slots=True)
class CautionText:
    """A caution by its number, and its text."""

    code: str
    text: str


@dataclass(frozen=True, slots=True)
class PlanRead:
    """The steps for one scale on one day; `digest` is over the plan's canonical JSON and goes into `procedure.plan`."""

    digest: str
    plan: Plan
    cautions: tuple[CautionText, ...]
