"""The questions of the calculators on the wire: their shapes, and what their fields must be to each other.

A shape for each kind comes from its record; the checks here are those that only show when the fields are seen together.
"""

from collections import Counter
from collections.abc import Callable, Sequence
from itertools import pairwise
from typing import Any

from api.metrology.calculations.air_density import AirDensityAsked, BuoyancyAsked, ConventionalMassAsked
from api.metrology.calculations.change_over import ChangeOverAsked
from api.metrology.calculations.conformity import ConformityAsked, GuardBand
from api.metrology.calculations.gravity import GravityAsked, RelocationAsked
from api.metrology.calculations.minimum_weight import MinimumWeightAsked
from api.metrology.calculations.risk import RiskAsked
from api.metrology.calculations.table import Calculation
from api.metrology.calculations.tolerance import ToleranceAsked
from api.metrology.calculations.uncertainty import (
    ContributionAsked,
    CorrelationAsked,
    Coverage,
    SecondOrderAsked,
    UncertaintyAsked,
)
from api.metrology.mass import Mass
from schemas.sentences import MISSING
from schemas.wire_shape import Check, Faults, checked_by, wire_shape


def question_of(calculation: Calculation, content: Any) -> Any:
    """Return the question that parsed JSON asks of a kind; raises marshmallow's ValidationError with all faults."""
    return wire_shape(calculation.asked)().load(content)


def _exactly_one(record: Any, *names: str) -> Faults:
    """Which of several fields that stand for each other is missing or too many."""
    given = [name for name in names if getattr(record, name) is not None]
    if not given:
        return {names[0]: [f"{MISSING[:-1]}, or one of {', '.join(names[1:])} instead."]}
    said = f"Found beside {given[0]}; accepted: exactly one of {', '.join(names)}."
    return {name: [said] for name in given[1:]}


def _needed(record: Any, why: str, *names: str) -> Faults:
    return {name: [f"{MISSING[:-1]} {why}."] for name in names if getattr(record, name) is None}


def _out_of_place(record: Any, why: str, *names: str) -> Faults:
    return {name: [f"Out of place {why}; leave it out."] for name in names if getattr(record, name) is not None}


def _sizes(*, above_zero: tuple[str, ...] = (), not_negative: tuple[str, ...] = ()) -> Check:
    """Bounds of fields that may be masses."""

    def check(record: Any) -> Faults:
        faults: Faults = {}
        for name in (*above_zero, *not_negative):
            amount = getattr(record, name)
            value = amount.value if isinstance(amount, Mass) else amount
            if value is None or value > 0 or (value == 0 and name in not_negative):
                continue
            accepted = "0 or more" if name in not_negative else "above 0"
            shown = amount.shown if isinstance(amount, Mass) else f"{value:f}"
            faults[name] = [f"Found {shown}; accepted: {accepted}."]
        return faults

    return check


def _all(*checks: Callable[[Any], Faults]) -> Check:
    def check(record: Any) -> Faults:
        faults: Faults = {}
        for one in checks:
            faults = one(record) | faults
        return faults

    return check


def _limits(record: Any) -> Faults:
    if record.lower is None and record.upper is None:
        return {"upper": [f"{MISSING[:-1]}, or lower: one limit at least."]}
    if record.lower is not None and record.upper is not None and record.lower > record.upper:
        return {"lower": [f"Found {record.lower:f}, above the upper limit of {record.upper:f}."]}
    return {}


def _conformity(asked: ConformityAsked) -> Faults:
    faults = _limits(asked) | _exactly_one(asked, "standard_uncertainty", "expanded")
    return faults | (_needed(asked, "beside expanded", "k") if asked.expanded is not None else {})


def _guard_band(band: GuardBand) -> Faults:
    if band.zones == "four" and band.r is not None and band.r < 0:
        return {"r": [f"Found {band.r:f}; accepted: 0 or more where the verdict has four zones."]}
    return _exactly_one(band, "r", "risk")


def _contribution(one: ContributionAsked) -> Faults:
    faults = _exactly_one(one, "standard_uncertainty", "half_width", "readings")
    if one.half_width is None:
        faults |= _out_of_place(one, "without half_width", "distribution", "k")
    elif one.distribution is None:
        accepted = "rectangular, triangular, arcsine, or normal with k"
        faults |= {"distribution": [f"{MISSING[:-1]} beside half_width; accepted: {accepted}."]}
    elif one.distribution == "normal":
        faults |= _needed(one, "beside normal: half_width is k times the standard uncertainty", "k")
    else:
        faults |= _out_of_place(one, f"beside {one.distribution}", "k")
    if one.readings is not None:
        faults |= _out_of_place(one, "beside readings, which have n - 1", "degrees_of_freedom")
    elif one.mean:
        faults |= {"mean": ["Out of place without readings; leave it out."]}
    return faults


def _second_order(term: SecondOrderAsked) -> Faults:
    if term.first == term.second and term.third_derivative_back:
        return {"third_derivative_back": ["Out of place for one input with itself; leave it out."]}
    return {}


def _correlation(one: CorrelationAsked) -> Faults:
    return {"second": [f"Found {one.second} again; accepted: another contribution."]} if one.first == one.second else {}


def _budget(asked: UncertaintyAsked) -> Faults:
    """Which pairs are of contributions that are not there or not to be told apart, or stand there twice."""
    if not asked.correlations and not asked.second_order:
        return {}
    if asked.correlations and asked.second_order:
        return {
            "second_order": ["Found beside correlations; its terms are those of independent contributions (GUM 5.1.2)."]
        }
    named = Counter(one.name for one in asked.contributions)
    field = "correlations" if asked.correlations else "second_order"
    pairs: Sequence[CorrelationAsked | SecondOrderAsked] = asked.correlations or asked.second_order
    faults = _again(pairs) | {place: wrong for place, pair in enumerate(pairs) if (wrong := _names(pair, named))}
    faults = faults or _without_r(asked)
    return {field: faults} if faults else {}


def _names(pair: CorrelationAsked | SecondOrderAsked, named: Counter[str]) -> Faults:
    faults: Faults = {}
    for field, name in (("first", pair.first), ("second", pair.second)):
        if not named[name]:
            faults[field] = [f"Found {name}, which is no contribution here; accepted: one of their names."]
        elif named[name] > 1:
            faults[field] = [f"Found {name}, the name of {named[name]} contributions; give each a name of its own."]
    return faults


def _again(pairs: Sequence[CorrelationAsked | SecondOrderAsked]) -> dict[int, Faults]:
    both = [frozenset((pair.first, pair.second)) for pair in pairs]
    said = "Found again with {}; accepted: each pair once."
    return {
        place: {"second": [said.format(pairs[place].first)]} for place, pair in enumerate(both) if pair in both[:place]
    }


def _without_r(asked: UncertaintyAsked) -> dict[int, Faults]:
    """Where r is left out, both have as many readings, which were taken in pairs."""
    readings = {one.name: len(one.readings or ()) for one in asked.contributions}
    said = f"{MISSING[:-1]}, or as many readings of both contributions, taken in pairs."
    return {
        place: {"r": [said]}
        for place, pair in enumerate(asked.correlations)
        if pair.r is None and not readings[pair.first] == readings[pair.second] > 0
    }


def _coverage(coverage: Coverage) -> Faults:
    return _exactly_one(coverage, "probability", "k")


def _ranges(asked: ToleranceAsked) -> Faults:
    wrong = {
        place: {"max": [f"Found {upper.max:f} after {lower.max:f}; accepted: ranges ascending by Max."]}
        for place, (lower, upper) in enumerate(pairwise(asked.ranges), 1)
        if upper.max <= lower.max
    }
    return {"ranges": wrong} if wrong else {}


def _climate(asked: AirDensityAsked) -> Faults:
    climate = ("temperature_c", "pressure_hpa", "relative_humidity_pct")
    if asked.formula == "height":
        return _needed(asked, "for height", "height_m") | _out_of_place(asked, "for height", *climate)
    return _needed(asked, f"for {asked.formula}", *climate) | _out_of_place(asked, f"for {asked.formula}", "height_m")


def _minimum_weight(asked: MinimumWeightAsked) -> Faults:
    usp, in_use = ("standard_deviation", "division"), ("alpha", "beta", "requirement")
    by_usp = any(getattr(asked, name) is not None for name in usp)
    if not by_usp and all(getattr(asked, name) is None for name in in_use):
        said = "give standard_deviation and division, or alpha, beta and requirement"
        return {"standard_deviation": [f"{MISSING[:-1]}: {said}."]}
    if not by_usp:
        return _needed(asked, "beside alpha, beta and requirement", *in_use)
    beside = _out_of_place(asked, "beside standard_deviation and division", *in_use, "safety_factor")
    return _needed(asked, "beside standard_deviation and division", *usp) | beside


def _relocation(asked: RelocationAsked) -> Faults:
    pairs = ((asked.g_from, "g_from_standard_uncertainty"), (asked.g_to, "g_to_standard_uncertainty"))
    why = "beside a place, whose formula has its own"
    return {
        name: said
        for g, field in pairs
        if isinstance(g, GravityAsked)
        for name, said in _out_of_place(asked, why, field).items()
    }


def _risk(asked: RiskAsked) -> Faults:
    if isinstance(asked.guard_band, GuardBand) and asked.guard_band.zones == "four":
        return {"guard_band": {"zones": ["Found four; the risks are those of accepting and rejecting: leave it out."]}}
    return _limits(asked)


checked_by(ToleranceAsked, _all(_ranges, _sizes(not_negative=("load",))))
checked_by(ContributionAsked, _contribution)
checked_by(Coverage, _coverage)
checked_by(CorrelationAsked, _correlation)
checked_by(SecondOrderAsked, _second_order)
checked_by(UncertaintyAsked, _budget)
checked_by(ConformityAsked, _conformity)
checked_by(GuardBand, _guard_band)
checked_by(RiskAsked, _risk)
checked_by(AirDensityAsked, _climate)
checked_by(BuoyancyAsked, _sizes(above_zero=("nominal",)))
checked_by(ConventionalMassAsked, _sizes(above_zero=("mass",)))
checked_by(RelocationAsked, _all(_relocation, _sizes(not_negative=("load",))))
checked_by(
    MinimumWeightAsked,
    _all(_minimum_weight, _sizes(above_zero=("division",), not_negative=("standard_deviation", "alpha"))),
)
checked_by(ChangeOverAsked, _sizes(above_zero=("e",), not_negative=("load", "added")))
