"""The plan of one calibration: every step in the trade's order, with its loads, pieces, tolerance and cautions.

As found comes first and whole; nothing is adjusted before it. What is safe to place caps every load: Max in whichever unit
is least, the safe working load less the dead load, and the kind's own limits.
"""

from decimal import Decimal
from typing import Any, Final

from api.metrology.eccentric_load import eccentric_load
from api.metrology.kinds_of_plan import PLAN_OF, Extra, KindPlan
from api.metrology.load_points import COMMON, MERGED_WITHIN, LoadPoint, Reason, load_points
from api.metrology.load_series import pieces_for_loads
from api.metrology.mass import EXACT, Mass
from api.metrology.pieces_for_loads import WINDOW, LoadMade, NotMade, made_of
from api.metrology.plan_sheet import Sheet
from api.metrology.plan_steps import Plan, PlanFacts
from api.metrology.plan_words import after, before, decide, labelled
from api.metrology.scale import range_in_use
from api.metrology.stock import plain
from api.metrology.substitution import minimum_test, substitutions
from api.metrology.terms import Kind, Position
from api.metrology.top_load import TopLoad, top_load

READ: Final = ("reading", "unit", "time")
# Where ballast may stand for pieces: on a floor platform, never where a person lies, sits or hangs. Our choice.
BALLAST_ON: Final[tuple[Kind, ...]] = (
    "stand-on", "portable platform", "wheelchair platform", "dialysis platform", "bed pads",
)  # fmt: skip
MAGNET: Final = "The ward is or borders a magnet zone: no weight goes in. Test the scale outside, or do not test it."


def plan_of(facts: PlanFacts) -> Plan:
    """Return the plan for a scale: kilograms exact, steps numbered from 1.

    Refuses a scale of which the scheme has no tolerance (`NoTableValue`), and a bed whose dead load leaves nothing
    (`OverCapacity`).
    """
    kind, sheet = PLAN_OF[facts.scale.kind], Sheet(facts)
    top = top_load(
        facts.scale, facts.unit, facts.heaviest_used_kg, facts.safe_working_load_kg, Decimal(kind.dead_load_kg)
    )
    points = with_all_pieces(sheet, load_points(facts.scale, facts.as_found, facts.unit, top, kind.typical))
    if facts.magnet_zone:
        sheet.add("stop: magnet zone", MAGNET, fill=("decision",), cautions=("C-18",))
    before(sheet, kind)
    chosen = _chosen(sheet, points)
    _first_loading(sheet, points, chosen, kind)
    proven = _up_and_down(sheet, points, chosen, top)
    _corners(sheet, kind, top)
    _repeats(sheet, kind, top)
    _extras(sheet, kind, top)
    after(sheet)
    decide(sheet)
    labelled(sheet, kind)
    return Plan(
        device=facts.device, on=facts.on, kind=facts.scale.kind, unit=facts.unit, weight_set=facts.weight_set,
        scheme=facts.as_found, top_kg=plain(top.kg), top_words=f"{top.words} ({top.source})",
        proves=_proves(sheet, proven, top), asks=_asks(sheet, top, proven), steps=tuple(sheet.steps),
        lifting=sheet.lifting(), left_out=sheet.stock.left_out if sheet.stock else (),
        stops=MAGNET if facts.magnet_zone else None,
    )  # fmt: skip


def with_all_pieces(sheet: Sheet, points: tuple[LoadPoint, ...]) -> tuple[LoadPoint, ...]:
    """Where the set ends below the top load, all of it is placed once, so that as much as can be is proven."""
    if sheet.stock is None:
        return points
    total, top = sheet.stock.kilograms(sheet.stock.total), points[-1].kg
    least_apart = EXACT.multiply(total, MERGED_WITHIN)
    if not total or total >= EXACT.multiply(top, 1 - WINDOW) or any(abs(p.kg - total) < least_apart for p in points):
        return points
    everything = LoadPoint(total, (Reason("everything the set has", COMMON),), never_above=True)
    return tuple(sorted((*points, everything), key=lambda point: point.kg))


# A load in kg, its pieces, and why it cannot be made.
_Load = tuple[Decimal, tuple[str, ...], str | None]
_Chosen = dict[Decimal, _Load]


def _chosen(sheet: Sheet, points: tuple[LoadPoint, ...]) -> _Chosen:
    """For each load of the list: the load really made, its pieces, and why it cannot be made."""
    loads = [point for point in points if point.kg]
    if sheet.stock is None:
        return {point.kg: (point.kg, (), None) for point in loads}
    series = pieces_for_loads([sheet.wanted(p.kg, p.never_above) for p in loads], sheet.stock, sheet.facts.policy)
    found: _Chosen = {made.wanted.target_kg: (made.nominal_kg, made.pieces, None) for made in series.made}
    found.update(
        {not_made.wanted.target_kg: (not_made.wanted.target_kg, (), not_made.sentence) for not_made in series.not_made}
    )
    _all_of_it(sheet, found)
    return found


def _all_of_it(sheet: Sheet, found: _Chosen) -> None:
    """Where the whole set is a load of the list, and fine enough, it is placed whole."""
    stock = sheet.stock
    if stock is None or (total := stock.kilograms(stock.total)) not in found:
        return
    whole = made_of(stock.counts, sheet.wanted(total), stock)
    if whole.share_of_tolerance * float(sheet.facts.policy.weights_divisor) <= 1:
        found[total] = (total, whole.pieces, None)


def _load_step(sheet: Sheet, name: str, do: str, kg: Decimal, pieces: tuple[str, ...], **members: Any) -> None:
    members = {"fill": READ, "readings": 1, "load": sheet.load_of(kg), "tolerance": sheet.tolerance(kg), **members}
    sheet.add(name, do, pieces=pieces, **members)


def _first_loading(sheet: Sheet, points: tuple[LoadPoint, ...], chosen: _Chosen, kind: KindPlan) -> None:
    """One load as a nurse would, without exercising; then once near the top."""
    able = [chosen[p.kg] for p in points if p.kg and chosen[p.kg][2] is None]
    if not able:
        return
    typical = min((made for made in able), key=lambda made: abs(made[0] - kind.typical[0]))
    _load_step(
        sheet, "first loading", f"Put {sheet.load_of(typical[0]).shown} on as a person would come on, and read at once.",
        typical[0], typical[1], test="first loading", cautions=("C-07", "C-08"),
    )  # fmt: skip
    top = able[-1]
    sheet.add(
        "exercise", f"Put {sheet.load_of(top[0]).shown} on once, take everything off, and do not press zero.",
        pieces=top[1], load=sheet.load_of(top[0]), cautions=("C-08",),
    )  # fmt: skip
    sheet.add("empty", "Take everything off and wait until the display is steady.", pieces=())


def _up_and_down(sheet: Sheet, points: tuple[LoadPoint, ...], chosen: _Chosen, top: TopLoad) -> Decimal:
    """Return the heaviest load that the pieces, or pieces and ballast, really reach."""
    loads = [point for point in points if point.kg]
    tried = {loads[0].kg, min(loads, key=lambda p: abs(p.kg - top.kg / 2)).kg, loads[-1].kg}
    reached = Decimal(0)
    last: tuple[str, ...] = ()
    for point in loads:
        kg, pieces, cannot = chosen[point.kg]
        shown = sheet.load_of(kg).shown
        if cannot is None:
            do = f"Load {shown}: add the pieces named, wait until steady, read. Do not press zero in between."
            _load_step(
                sheet, "increasing", do, kg, pieces, test="increasing", reasons=point.reasons, cautions=("C-08",)
            )
            reached, last = kg, pieces
        else:
            sheet.add(
                "increasing", f"Load {shown}: cannot be made of this set.", test="increasing", load=sheet.load_of(kg),
                tolerance=sheet.tolerance(kg), reasons=point.reasons, cannot=cannot,
            )  # fmt: skip
        if point.kg in tried and cannot is None:
            _discrimination(sheet, kg)
    reached = _substituted(sheet, reached, top, last)
    for point in reversed(points):
        if point.down is not None and point.kg and chosen[point.kg][2] is None and point.kg != top.kg:
            kg, pieces, _ = chosen[point.kg]
            do = f"Take pieces off until {sheet.load_of(kg).shown} stands there, wait until steady, read."
            _load_step(sheet, "decreasing", do, kg, pieces, test="decreasing", reasons=(point.down,))
    _load_step(
        sheet, "zero after", "Take everything off and read within half a minute. Do not press zero.", Decimal(0), (),
        test="decreasing", reasons=tuple(p.down for p in points if not p.kg and p.down),
    )  # fmt: skip
    sheet.add(
        "creep", "Put the top load on and read at once, after 15 and after 30 minutes; take it off and read zero.",
        test="creep", fill=READ, readings=4, only_if="only where a drifting display is suspected, or a cell was changed",
    )  # fmt: skip
    return reached


def _discrimination(sheet: Sheet, kg: Decimal) -> None:
    """1.4 d added must move the display; R 76-1 3.8.2.2 asks it for d of 5 mg and more (from memory)."""
    in_use = range_in_use(sheet.facts.scale, sheet.facts.unit, kg)
    if in_use.d_kg < Decimal("0.000005"):
        return
    added = Mass(plain(EXACT.multiply(in_use.d, Decimal("1.4"))), in_use.unit)
    sheet.add(
        "discrimination", f"With the load still on, add {added.shown} gently: what is shown must go up. Take it off again.",
        test="discrimination", fill=(*READ, "seen"), readings=2, load=sheet.load_of(kg), added=added,
    )  # fmt: skip


def _substituted(sheet: Sheet, reached: Decimal, top: TopLoad, pieces: tuple[str, ...]) -> Decimal:
    """Go on with ballast where the set ends and the kind allows it, three exchanges at most."""
    if sheet.stock is None or not pieces or sheet.facts.scale.kind not in BALLAST_ON:
        return reached
    if EXACT.multiply(reached, 1 + WINDOW) >= top.kg:
        return reached
    known = reached
    for exchange in substitutions(known, top.kg):
        ballast, total = sheet.load_of(exchange.ballast_kg).shown, sheet.load_of(exchange.reaches_kg).shown
        do = (
            f"Take the pieces off, put ballast on until the display shows exactly what it showed at {ballast}; then add "
            f"pieces up to {total}, and read both."
        )
        sheet.add(
            f"substitution {exchange.number}", do, test="increasing", fill=READ, readings=2,
            load=sheet.load_of(exchange.reaches_kg), tolerance=sheet.tolerance(exchange.reaches_kg),
            cautions=("C-07", "C-08"),
        )  # fmt: skip
        reached = exchange.reaches_kg
    return reached


def _corners(sheet: Sheet, kind: KindPlan, top: TopLoad) -> None:
    if not kind.places:
        return
    words, load = _corner_load(sheet, kind, top)
    for place in kind.places:
        do = f"{sheet.load_of(load[0]).shown} at {_place_words(place)}, low and not over the edge ({words}). Read."
        _load_step(
            sheet, "eccentricity", do, load[0], load[1], test="eccentricity", position=place, cautions=("C-08",),
            cannot=load[2],
        )  # fmt: skip
    sheet.add("empty", "Take everything off.", pieces=())


def _corner_load(sheet: Sheet, kind: KindPlan, top: TopLoad) -> tuple[str, _Load]:
    """The load of the corners in words, and with its pieces."""
    cap = Decimal(kind.eccentric_most_kg) if kind.eccentric_most_kg else None
    load = eccentric_load(sheet.facts.scale, sheet.facts.as_found, sheet.facts.unit, top.limit_kg, cap)
    return load.words, _load_or_why(sheet.made_within(load), plain(load.kg))


def _load_or_why(made: LoadMade | NotMade | None, asked: Decimal) -> _Load:
    """The load really made, its pieces, and why it cannot be made."""
    if isinstance(made, LoadMade):
        return made.nominal_kg, made.pieces, None
    return asked, (), made.sentence if made else None


def _place_words(place: str) -> str:
    return place if place == "centre" or place.startswith("support") else f"the {place}, seen by the person on it"


def _repeats(sheet: Sheet, kind: KindPlan, top: TopLoad) -> None:
    """Near 0.8 of the top load, or the kind's own load; each weighing from the empty scale."""
    asked = min(Decimal(kind.repeat_kg), top.kg) if kind.repeat_kg else plain(EXACT.multiply(top.kg, Decimal("0.8")))
    kg, pieces, cannot = _load_or_why(sheet.made(asked, never_above=True), asked)
    do = f"Weigh {sheet.load_of(kg).shown} {kind.repeats} times, taking everything off in between; read each time."
    _load_step(
        sheet, "repeatability", do, kg, pieces, test="repeatability", readings=kind.repeats, cannot=cannot,
        cautions=("C-07", "C-08"),
    )  # fmt: skip
    sheet.weighed_again(pieces, kind.repeats - 1)
    sheet.add("empty", "Take everything off.", pieces=())


def _extras(sheet: Sheet, kind: KindPlan, top: TopLoad) -> None:
    for extra in kind.extras:
        load = _extra_load(sheet, extra, kind, top)
        for place in extra.positions or (None,):
            _extra(sheet, extra, place, load)
    if sheet.on_it:
        sheet.add("empty", "Take everything off.", pieces=())


def _extra_load(sheet: Sheet, extra: Extra, kind: KindPlan, top: TopLoad) -> _Load | None:
    if extra.load_kg is not None:
        asked = min(Decimal(extra.load_kg), top.limit_kg)
        return _load_or_why(sheet.made(asked, never_above=True), asked)
    return _corner_load(sheet, kind, top)[1] if extra.test == "eccentricity" else None


def _extra(sheet: Sheet, extra: Extra, place: Position | None, load: _Load | None) -> None:
    do = extra.do + (f" Now: {_place_words(place)}." if place else "")
    members: dict[str, Any] = {
        "test": extra.test, "fill": READ, "readings": extra.readings, "position": place, "cautions": ("C-08",),
        "reasons": (Reason(extra.name, extra.source),),
    }  # fmt: skip
    if load is None:
        sheet.add(extra.name, do, pieces=(), **members)
    else:
        _load_step(sheet, extra.name, do, load[0], load[1], cannot=load[2], **members)


def _proves(sheet: Sheet, proven: Decimal, top: TopLoad) -> str:
    if sheet.stock is None:
        return f"No set was named: loads up to {sheet.load_of(top.kg).shown} are told without pieces."
    most = sheet.load_of(proven).shown
    if EXACT.multiply(proven, 1 + WINDOW) >= top.kg:
        return f"With this set the scale can be proven up to {most}."
    wanted = sheet.load_of(top.kg).shown
    return f"With this set the scale can be proven up to {most} only, of {wanted}. Above it nothing is claimed."


def _asks(sheet: Sheet, top: TopLoad, proven: Decimal) -> tuple[str, ...]:
    """What HB 44 Table 4 asks of the weights, where that is the scheme, and whether this plan reaches it."""
    if sheet.facts.as_found.name != "hb44":
        return ()
    least = minimum_test(sheet.facts.scale, sheet.facts.unit)
    said = (
        f"{least.source}: at least {sheet.load_of(least.weights_kg).shown} of certified weights and "
        f"{sheet.load_of(least.load_kg).shown} of load."
    )
    reached = proven if sheet.stock else top.kg
    if reached < least.load_kg:
        said += f" This plan ends at {sheet.load_of(reached).shown}: the certificate must say so."
    return (said,)
