"""What a policy's prior says of one decision: the risk of this one, and of all that are taken like it.

The prior is what is known of the errors of scales before one is measured. It changes no verdict: beside a verdict it says
how often it is wrong. Process and measurement are normal, with the u of the point's budget.
"""

from dataclasses import dataclass
from decimal import Decimal

from api.metrology.budget import Budget
from api.metrology.decision import (
    DecisionRule,
    limits_of,
    probability_of_conformity,
    probability_of_nonconformity,
)  # fmt: skip
from api.metrology.policy import Prior
from api.metrology.risk import Between, Process, SpecificRisk, consumer_risk, known_after, specific_risk
from api.metrology.verdict import Verdict


@dataclass(frozen=True, slots=True)
class RiskByPrior:
    """The specific risk of a decision, and the consumer's global risk of its rule: of all scales, bad and accepted.

    `before` is the prior at the point and `after` what is known of its error with the reading, in kilograms.
    """

    specific: SpecificRisk
    consumer: float
    before: Process
    after: Process


def prior_at(prior: Prior, tolerance_kg: Decimal, d_kg: Decimal) -> Process:
    """Return the prior at a point, in kilograms: counted in its tolerance or in its division."""
    unit = float(tolerance_kg if prior.counted_in == "tolerance" else d_kg)
    return Process(float(prior.mean) * unit, float(prior.standard_deviation) * unit)


def risk_by_prior(
    verdict: Verdict, error_kg: Decimal, tolerance_kg: Decimal, budget: Budget, rule: DecisionRule, before: Process
) -> RiskByPrior:
    """Return the risks of a verdict that accepts or rejects (JCGM 106:2012 7.2, 9.3 and 9.5, from memory)."""
    u, tolerance = budget.combined, float(tolerance_kg)
    after = known_after(before, float(error_kg), u)
    about = after.mean, after.standard_deviation, -tolerance, tolerance
    specific = specific_risk(verdict, probability_of_conformity(*about), probability_of_nonconformity(*about))
    accepted = float(_accepted(tolerance_kg, budget.printed, rule))
    consumer = consumer_risk(before, u, Between(-tolerance, tolerance), Between(-accepted, accepted))
    return RiskByPrior(specific, consumer, before, after)


def _accepted(tolerance_kg: Decimal, printed: Decimal, rule: DecisionRule) -> Decimal:
    """The largest error that is accepted; with four zones a conditional pass is."""
    return tolerance_kg if rule.zones == "four" else limits_of(tolerance_kg, printed, rule).accepted
