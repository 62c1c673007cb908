"""The corners and the repeated weighings of a plan, and what stands on ballast where the pieces end."""

from decimal import Decimal

from api.metrology.ballast import Ballast, Exchange
from api.metrology.eccentric_load import EccentricLoad, eccentric_load
from api.metrology.kinds_of_plan import KindPlan
from api.metrology.mass import EXACT
from api.metrology.plan_sheet import Placed, Sheet
from api.metrology.plan_steps import PlanFacts
from api.metrology.stock import plain
from api.metrology.top_load import TopLoad


def load_of_corners(facts: PlanFacts, kind: KindPlan, top: TopLoad) -> EccentricLoad:
    """Return the load of the corners: the scheme's share, never more than is safe on this kind."""
    cap = Decimal(kind.eccentric_most_kg) if kind.eccentric_most_kg else None
    return eccentric_load(facts.scale, facts.as_found, facts.unit, top.limit_kg, cap)


def corners(sheet: Sheet, kind: KindPlan, top: TopLoad) -> None:
    """Add a reading at every place of the kind."""
    sheet.part = "places"
    if not kind.places:
        return
    load = load_of_corners(sheet.facts, kind, top)
    made = sheet.made_within(load)
    for number, place in enumerate(kind.places):
        verb = "{load} to" if number else "{load} at"
        sheet.add_load(
            "eccentricity", f"{'Move' if number else 'Put'} {verb} {place_words(place)}, low and not over the edge. Read.",
            made, test="eccentricity", position=place,
        )  # fmt: skip
    sheet.emptied()


def place_words(place: str) -> str:
    """Return a place in words, by the side of the person on the scale."""
    return (
        f"the {place}" if place == "centre" or place.startswith("support") else f"the {place}, seen by the person on it"
    )


def load_of_repeats(kind: KindPlan, top: TopLoad) -> Decimal:
    """Return the load of the repeated weighings in kilograms: the kind's own, or near 0.8 of the top load."""
    if kind.repeat_kg:
        return min(Decimal(kind.repeat_kg), top.kg)
    return plain(EXACT.multiply(top.kg, Decimal("0.8")))


def repeats(sheet: Sheet, kind: KindPlan, top: TopLoad) -> None:
    """Add the repeated weighings, each from the empty scale."""
    sheet.part = "repeated weighings"
    made = sheet.made(load_of_repeats(kind, top), never_above=True)
    sheet.add_load(
        "repeatability", f"Weigh {{load}} {kind.repeats} times, taking everything off in between; read each time.", made,
        test="repeatability", readings=kind.repeats, each=numbered(kind.repeats), cautions=("C-07", "C-08"),
    )  # fmt: skip
    sheet.weighed_again(made.pieces, kind.repeats - 1)
    sheet.emptied()


def numbered(count: int) -> tuple[str, ...]:
    """Return the names of weighings that have none but their number."""
    return tuple(str(number) for number in range(1, count + 1))


def on_ballast(sheet: Sheet, reached: Placed, ballast: Ballast) -> Decimal:
    """Add the exchanges of ballast for pieces, from the heaviest load of pieces on, and return the load reached in kg."""
    sheet.part = "with ballast"
    if not ballast.exchanges:
        return reached.kg
    only_if = ballast.rule if ballast.rule.startswith("only if") else None
    do = "Put {load} on again and read: ballast will be put in its place."
    sheet.add_load("before ballast", do, reached, test="increasing", only_if=only_if, cautions=("C-07", "C-08"))
    known = reached.kg
    for exchange in ballast.exchanges:
        on_top = reached
        if exchange.step.reaches_kg - exchange.step.ballast_kg != reached.kg:
            on_top = sheet.made(exchange.step.reaches_kg - exchange.step.ballast_kg, never_above=True)
        if on_top.cannot is not None:
            break
        known = _exchanged(sheet, exchange, on_top, known, only_if)
    sheet.add("ballast off", "Take pieces and ballast off.", pieces=(), only_if=only_if)
    return known


def _exchanged(sheet: Sheet, exchange: Exchange, on_top: Placed, known_kg: Decimal, only_if: str | None) -> Decimal:
    number, total = exchange.step.number, EXACT.add(known_kg, on_top.kg)
    sheet.add(
        f"ballast {number}", "Take the pieces off. Put ballast on until the display shows exactly what it showed at "
        f"{sheet.load_of(known_kg).shown}, and write it down.", pieces=(), fill=("reading", "unit", "time"), readings=1,
        only_if=only_if, cautions=("C-07", "C-08"),
    )  # fmt: skip
    within = sheet.load_of(plain(exchange.expanded_kg))
    sheet.add_load(
        f"substitution {number}", f"Leave the ballast on and add {sheet.load_of(on_top.kg).shown} of pieces: "
        f"{sheet.load_of(total).shown} in all, known within {within.shown} (k = 2). Read.",
        Placed(total, on_top.pieces), test="increasing", known_within=within, only_if=only_if, cautions=("C-07", "C-08"),
    )  # fmt: skip
    return total
