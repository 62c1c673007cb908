"""The plan of one calibration: every step in the trade's order, with its loads, pieces, tolerance and cautions.

As found comes first and whole; nothing is adjusted before it. What is safe to place caps every load: Max in whichever unit
is least, the safe working load less the dead load, and the kind's own limits.
"""

from decimal import Decimal

from api.metrology.ballast import Ballast, ballast_for
from api.metrology.kinds_of_plan import PLAN_OF, KindPlan
from api.metrology.mass import EXACT
from api.metrology.pieces_for_loads import WINDOW
from api.metrology.plan_extras import extras
from api.metrology.plan_loads import creep, loads, other_units
from api.metrology.plan_places import corners, on_ballast, repeats
from api.metrology.plan_sheet import Sheet
from api.metrology.plan_steps import Plan, PlanFacts
from api.metrology.plan_words import after, before, decide, labelled, stop, stopped
from api.metrology.stock import plain
from api.metrology.substitution import minimum_test
from api.metrology.top_load import TopLoad, top_load
from api.metrology.ways_shown import ways_shown


def plan_of(facts: PlanFacts) -> Plan:
    """Return the plan for a scale: kilograms exact, steps numbered from 1.

    In a magnet zone it stops after its first step. Refuses a scale of which the scheme has no tolerance (`NoTableValue`),
    and one whose dead load leaves nothing (`OverCapacity`).
    """
    kind, sheet = PLAN_OF[facts.scale.kind], Sheet(facts)
    top = top_of(facts, kind)
    if facts.magnet_zone:
        stop(sheet)
        return _told(sheet, facts, top, "No load is told, and nothing is proven, before it stands elsewhere.", ())
    before(sheet, kind)
    reached = loads(sheet, kind, top)
    corners(sheet, kind, top)
    repeats(sheet, kind, top)
    ballast = ballast_for(sheet.facts, reached.pieces, reached.kg, top.kg)
    proven = on_ballast(sheet, reached, ballast)
    extras(sheet, kind, top)
    creep(sheet, reached)
    after(sheet)
    sheet.facts = facts
    other_units(sheet, top)
    sheet.show(ways_shown(facts.scale, facts.unit)[0])
    decide(sheet)
    labelled(sheet, kind)
    return _told(sheet, facts, top, _proves(sheet, proven, top), _asks(sheet, facts, top, proven, ballast))


def top_of(facts: PlanFacts, kind: KindPlan) -> TopLoad:
    """Return the top load of a scale; a dead load that the register does not have is that of its kind."""
    dead_load = Decimal(kind.dead_load_kg) if facts.dead_load_kg is None else facts.dead_load_kg
    return top_load(facts.scale, facts.unit, facts.heaviest_used_kg, facts.safe_working_load_kg, dead_load)


def _told(sheet: Sheet, facts: PlanFacts, top: TopLoad, proves: str, asks: tuple[str, ...]) -> Plan:
    return Plan(
        device=facts.device, on=facts.on, kind=facts.scale.kind, unit=facts.unit,
        weight_set=facts.weight_set, scheme=facts.as_found,
        top_kg=plain(top.kg), top_words=f"{top.words} ({top.source})", proves=proves, asks=asks, steps=tuple(sheet.steps),
        pieces=sheet.used(),
        assumed=_assumed(facts), lifting=sheet.lifting(), left_out=sheet.stock.left_out if sheet.stock else (),
        stops=stopped(facts) if facts.magnet_zone else None,
    )  # fmt: skip


def _assumed(facts: PlanFacts) -> tuple[str, ...]:
    """What the register does not say and the plan takes for granted."""
    dead_load = PLAN_OF[facts.scale.kind].dead_load_kg
    if facts.safe_working_load_kg is None or facts.dead_load_kg is not None or dead_load == "0":
        return ()
    return (
        f"A dead load of {dead_load} kg is assumed (common practice, no source): the register names none for this model. "
        "If mattress, accessories and board weigh more, take that much off every load.",
    )


def _proves(sheet: Sheet, proven_kg: Decimal, top: TopLoad) -> str:
    if sheet.stock is None:
        return f"No set was named: loads up to {sheet.load_of(top.kg).shown} are told without pieces."
    most = sheet.load_of(proven_kg).shown
    if EXACT.multiply(proven_kg, 1 + WINDOW) >= top.kg:
        return f"With this set the scale can be proven up to {most}."
    wanted = sheet.load_of(plain(top.kg)).shown
    return f"With this set the scale can be proven up to {most} only, of {wanted}. Above it nothing is claimed."


def _asks(sheet: Sheet, facts: PlanFacts, top: TopLoad, proven_kg: Decimal, ballast: Ballast) -> tuple[str, ...]:
    """What the scheme asks of the weights, whether this plan reaches it, and how ballast goes on."""
    told = [_table_4(sheet, facts, proven_kg if sheet.stock else top.kg)] if facts.as_found.name == "hb44" else []
    if ballast.exchanges:
        without = "" if facts.spread else ", without the repeatability, which the register does not have"
        told.append(f"Ballast for the rest: {ballast.rule}. Its uncertainty is printed beside each exchange{without}.")
    return (*told, *([ballast.ends] if ballast.ends else ()))


def _table_4(sheet: Sheet, facts: PlanFacts, reached_kg: Decimal) -> str:
    least = minimum_test(facts.scale, facts.unit)
    said = (
        f"{least.source}: at least {sheet.load_of(least.weights_kg).shown} of certified weights and "
        f"{sheet.load_of(least.load_kg).shown} of load."
    )
    if reached_kg >= least.load_kg:
        return said
    return f"{said} This plan ends at {sheet.load_of(reached_kg).shown}: the certificate must say so."
