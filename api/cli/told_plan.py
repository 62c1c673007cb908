"""A plan told on the terminal: a step a paragraph, with what to place and what to write down."""

from collections.abc import Iterator
from typing import Any

from api.metrology.mass import label_of

Answer = dict[str, Any]


def told_plan(read: Answer) -> str:
    """Return a plan in words."""
    return "\n".join(_lines(read))


def _lines(read: Answer) -> Iterator[str]:
    plan = read["plan"]
    yield f"Plan for {plan['device']} ({plan['kind']}) on {plan['on']}, weight set {plan.get('weight_set', 'not named')}"
    yield f"digest {read['digest']}"
    yield f"Up to {plan['top_kg']} kg: {plan['top_words']}."
    yield plan["proves"]
    if "stops" in plan:
        yield plan["stops"]
    yield from (*plan["asks"], *plan["assumed"])
    if lifting := plan.get("lifting"):
        yield (
            f"{lifting['lifts']} lifts, {lifting['kg']} kg moved by hand; lifting index {lifting['index']} for "
            f"{_shown(lifting['heaviest'])} ({lifting['situation']}, limit {lifting['limit_kg']} kg)."
        )
    for left in plan["left_out"]:
        yield f"left out: {left['piece']}, {left['why']}"
    for held in read.get("held", ()):
        yield f"held: {held['piece']}. {held['why']}"
    for step in plan["steps"]:
        yield from _step(step)
    yield ""
    for caution in read["cautions"]:
        yield f"{caution['code']}  {caution['text']}"


def _step(step: Answer) -> Iterator[str]:
    where = "".join(f", {words}" for words in _where(step))
    yield ""
    yield f"{step['number']:>3}. {step['name']}{where}: {step['do']}"
    if "only_if" in step:
        yield f"     {step['only_if']}"
    for said, codes in (("take off", step["take_off"]), ("put on", step["put_on"])):
        if codes:
            yield f"     {said}: {', '.join(codes)}"
    if "cannot" in step:
        yield f"     {step['cannot']}"
    if tolerance := step.get("tolerance"):
        needs = f"; the ward needs {_shown(tolerance['ward_needs'])}" if "ward_needs" in tolerance else ""
        yield (
            f"     tolerance {_shown(tolerance['as_found'])} as found, {_shown(tolerance['as_left'])} as left "
            f"({tolerance['counted']}, {tolerance['source']}){needs}"
        )
    if "in_display" in step:
        yield f"     must show {_shown(step['in_display'])}"
    for named in step["each"] or ("",) * max(1, step["readings"] or bool(step["fill"])):
        blanks = [f"{word} ______" for word in step["fill"]]
        rows = [blanks[at : at + 4] for at in range(0, len(blanks), 4)]
        yield from (f"     {named + ': ' if named else ''}{'  '.join(row)}" for row in rows)
    if step["cautions"]:
        yield f"     {', '.join(step['cautions'])}"


def _where(step: Answer) -> Iterator[str]:
    """The place, the range selected and the unit shown, where a step has them."""
    if "position" in step:
        yield step["position"]
    if "range_selected" in step:
        yield f"range {step['range_selected']}"
    if "display_unit" in step:
        yield f"display in {label_of(step['display_unit'])}"


def _shown(mass: Answer) -> str:
    return f"{mass['value']} {label_of(mass['unit'])}"
