"""How far ballast may go on where the pieces end: on which kinds, under which rule, and while its load is known well enough.

In a substitution ballast is put in place of the pieces until the display shows the same, and the pieces stand on it again.
What the exchanges leave open grows with them; where it is more than half the tolerance, no further exchange is made.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from api.metrology.contributions import of_substitutions, of_the_weights
from api.metrology.mass import EXACT, label_of
from api.metrology.pieces_for_loads import WINDOW
from api.metrology.plan_steps import PlanFacts
from api.metrology.rounding import printed_uncertainty
from api.metrology.scale import capacity_in, range_in_use
from api.metrology.stock import plain
from api.metrology.substitution import Substitution, minimum_test, r76_condition, substitutions
from api.metrology.terms import Kind
from api.metrology.tolerance import tolerance_at
from api.metrology.weights import ReferenceLoad, reference_load

# Where ballast may stand for pieces: on a floor platform, never where a person lies, sits or hangs. Our choice.
BALLAST_ON: Final[tuple[Kind, ...]] = (
    "stand-on", "portable platform", "wheelchair platform", "dialysis platform", "bed pads",
)  # fmt: skip
# The most of the tolerance that the uncertainty of a substitute load may take. Our choice: about what the conditions of
# OIML R 76-1:2006 3.7.3 (from memory) come to at their edge, two exchanges of a range of 0.3 e (s about 0.3 e / 1.69 of three
# weighings, 2 x sqrt 4 x s = 0.7 e) or four of 0.2 e, against the 1.5 e at Max.
MOST_SHARE: Final = Decimal("0.5")


@dataclass(frozen=True, slots=True)
class Exchange:
    """One exchange, and the expanded uncertainty (k = 2) in kg of the load it reaches."""

    step: Substitution
    expanded_kg: Decimal


@dataclass(frozen=True, slots=True)
class Ballast:
    """The exchanges that may be made, the rule they are made under, and why there are no more; nothing where the pieces
    reach the top load."""

    exchanges: tuple[Exchange, ...] = ()
    rule: str = ""
    ends: str | None = None


def ballast_for(facts: PlanFacts, pieces: Sequence[str], known_kg: Decimal, top_kg: Decimal) -> Ballast:
    """Return how ballast goes on from the heaviest load that pieces make, in kilograms."""
    if not pieces or EXACT.multiply(known_kg, 1 + WINDOW) >= top_kg:
        return Ballast()
    if facts.scale.kind not in BALLAST_ON:
        return Ballast(ends="No ballast: it may not stand where a person lies, sits or hangs.")
    rule, why_not = _rule(facts, known_kg)
    if why_not is not None:
        return Ballast(ends=why_not)
    load = reference_load(pieces, {piece.code: piece for piece in facts.pieces or ()}, facts.policy)
    return _while_known(facts, load, substitutions(known_kg, top_kg), rule)


def _rule(facts: PlanFacts, known_kg: Decimal) -> tuple[str, str | None]:
    """Under which rule ballast may go on, or why it may not: the scheme asks for so much of certified weights first."""
    if facts.as_found.name == "r76":
        top = capacity_in(facts.scale, facts.unit)
        condition = r76_condition(known_kg, top.max_kg)
        share = f"{known_kg:f} kg of weights are less than one fifth of Max, {top.max:f} {label_of(top.unit)}"
        return condition or "", None if condition else f"No ballast: {share} (OIML R 76-1:2006 3.7.3, from memory)."
    if facts.as_found.name == "house":
        return "at most three exchanges (common practice, no source)", None
    least = minimum_test(facts.scale, facts.unit)
    if known_kg < least.weights_kg:
        asked = f"{plain(least.weights_kg):f} kg of certified weights come first, and {known_kg:f} kg can be placed"
        return "", f"No ballast: {asked} ({least.source})."
    return f"at most three exchanges ({least.source})", None


def _while_known(facts: PlanFacts, load: ReferenceLoad, steps: Sequence[Substitution], rule: str) -> Ballast:
    made: list[Exchange] = []
    for step in steps:
        in_use = range_in_use(facts.scale, facts.unit, step.reaches_kg)
        tolerance = tolerance_at(facts.as_found, facts.scale.accuracy_class, in_use, step.reaches_kg)
        exchange = Exchange(step, expanded_kg(facts, load, step, in_use.d_kg))
        if exchange.expanded_kg > MOST_SHARE * tolerance.kg:
            return Ballast(tuple(made), rule, _too_uncertain(exchange))
        made.append(exchange)
    return Ballast(tuple(made), rule)


def _too_uncertain(exchange: Exchange) -> str:
    return (
        f"Ballast ends before {plain(exchange.step.reaches_kg):f} kg: the load would be known within "
        f"{exchange.expanded_kg:f} kg (k = 2), more than half the tolerance there."
    )


def expanded_kg(facts: PlanFacts, load: ReferenceLoad, step: Substitution, d_kg: Decimal) -> Decimal:
    """Return the expanded uncertainty (k = 2) of a load built by exchanges, in kilograms, rounded as it is printed.

    The pieces stand in every exchange anew, so their errors add; the readings are independent. Without a repeatability on
    the register the rounding of the display stands alone.
    """
    times = step.reaches_kg / load.nominal_kg
    grown = load._replace(
        nominal_kg=step.reaches_kg, u_weights=load.u_weights * float(times), u_drift=load.u_drift * float(times),
        u_buoyancy=load.u_buoyancy * float(times),
    )  # fmt: skip
    parts = [*of_the_weights(grown, adjusted_before=False), *of_substitutions(step.number, d_kg, facts.spread)]
    return printed_uncertainty(2 * math.hypot(*(part.standard_uncertainty for part in parts)))
