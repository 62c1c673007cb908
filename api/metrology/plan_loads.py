"""The loads of a plan: the first as a person would come on, then up and down, in every range and unit that is shown.

Each series begins and ends with nothing on the scale. Zero after it is a return to zero, with the minutes under load.
"""

from collections.abc import Sequence
from decimal import Decimal
from typing import Any, Final

from api.metrology.kinds_of_plan import KindPlan
from api.metrology.load_points import COMMON, MERGED_WITHIN, LoadPoint, Reason, load_points
from api.metrology.load_series import pieces_for_loads
from api.metrology.mass import EXACT, Mass, label_of
from api.metrology.pieces_for_loads import WINDOW, WantedLoad, made_of
from api.metrology.plan_sheet import READ, Placed, Sheet
from api.metrology.scale import range_in_use
from api.metrology.stock import plain
from api.metrology.top_load import TopLoad
from api.metrology.ways_shown import WayShown, top_in, ways_shown

NOTHING: Final = Placed(Decimal(0))
# OIML R 76-1:2006 3.8.2.2, from memory: asked of divisions of 5 mg and more.
LEAST_DISCRIMINATED_KG: Final = Decimal("0.000005")
_Chosen = dict[Decimal, Placed]


def loads(sheet: Sheet, kind: KindPlan, top: TopLoad) -> Placed:
    """Add the loads in the plan's own unit, range after range, and return the heaviest that the pieces really make."""
    sheet.part = "loads going up and down"
    reached = NOTHING
    ways = [way for way in ways_shown(sheet.facts.scale, sheet.plan_unit) if way.unit == sheet.plan_unit]
    for way in ways:
        sheet.show(way)
        if way.selected is not None:
            _range_selected(sheet, way)
        points = points_of(sheet, top_in(way, top), kind.typical)
        chosen = _chosen(sheet, points)
        if way is ways[0]:
            _first_loading(sheet, points, chosen, kind)
        reached = max(reached, _up_and_down(sheet, points, chosen), key=lambda made: made.kg)
    return reached


def points_of(sheet: Sheet, top: TopLoad, typical_kg: Sequence[Decimal] = ()) -> tuple[LoadPoint, ...]:
    """Return the loads of a way shown; where the set ends below the top load, all of it is placed once too, so that as much
    as can be is proven."""
    facts = sheet.facts
    points = load_points(facts.scale, facts.as_found, facts.unit, top, typical_kg)
    if sheet.stock is None:
        return points
    total, most = sheet.stock.kilograms(sheet.stock.total), points[-1].kg
    least_apart = EXACT.multiply(total, MERGED_WITHIN)
    if not total or total >= EXACT.multiply(most, 1 - WINDOW) or any(abs(p.kg - total) < least_apart for p in points):
        return points
    everything = LoadPoint(total, (Reason("everything the set has", COMMON),), never_above=True)
    return tuple(sorted((*points, everything), key=lambda point: point.kg))


def _chosen(sheet: Sheet, points: Sequence[LoadPoint]) -> _Chosen:
    """For each load of the list: the load really made and its pieces; a load as asked is worth one lift more."""
    wanted = [point for point in points if point.kg]
    if sheet.stock is None:
        return {point.kg: Placed(point.kg) for point in wanted}
    asked = [sheet.wanted(point.kg, point.never_above) for point in wanted]
    series = pieces_for_loads(asked, sheet.stock, sheet.facts.policy, exact_worth=1)
    found = {made.wanted.target_kg: Placed(made.nominal_kg, made.pieces) for made in series.made}
    for load in series.not_made:
        found[load.wanted.target_kg] = Placed(load.wanted.target_kg, (), load.sentence)
    _all_of_it(sheet, found)
    return found


def _all_of_it(sheet: Sheet, found: _Chosen) -> None:
    """Where the whole set is a load of the list, and fine enough, it is placed whole."""
    stock = sheet.stock
    if stock is None or (total := stock.kilograms(stock.total)) not in found:
        return
    whole = made_of(stock.counts, sheet.wanted(total), stock)
    if whole.share_of_tolerance * float(sheet.facts.policy.weights_divisor) <= 1:
        found[total] = Placed(total, whole.pieces)


def _first_loading(sheet: Sheet, points: Sequence[LoadPoint], chosen: _Chosen, kind: KindPlan) -> None:
    """One load as a person would come on, without exercising; then once near the top."""
    able = [chosen[p.kg] for p in points if p.kg and chosen[p.kg].cannot is None]
    if not able:
        return
    typical = min((made for made in able), key=lambda made: abs(made.kg - kind.typical[0]))
    sheet.add_load(
        "first loading", "Put {load} on as a person would come on, and read at once.", typical,
        test="first loading", cautions=("C-07", "C-08"),
    )  # fmt: skip
    do = "Put {load} on once. Nothing is written down."
    sheet.add_load("exercise", do, able[-1], fill=(), readings=0, tolerance=None)
    sheet.add("empty", "Take everything off and wait until the display is steady. Do not press zero.", pieces=())


def _up_and_down(sheet: Sheet, points: Sequence[LoadPoint], chosen: _Chosen) -> Placed:
    """Add a whole series, and return the heaviest load that the pieces make."""
    reached = up(sheet, points, chosen, discriminated=True)
    heaviest = max((p.kg for p in points if p.kg and chosen[p.kg].cannot is None), default=None)
    for point in reversed(points):
        if point.down is None or not point.kg or chosen[point.kg].cannot is not None or point.kg == heaviest:
            continue
        do = "Take pieces off until {load} stands there, wait until steady, read."
        sheet.add_load("decreasing", do, chosen[point.kg], test="decreasing", reasons=(point.down,))
    back_to_zero(sheet, tuple(p.down for p in points if not p.kg and p.down))
    return reached


def up(
    sheet: Sheet, points: Sequence[LoadPoint], chosen: _Chosen, *, discriminated: bool = False, **members: Any
) -> Placed:
    """Add the loads going up, and return the heaviest that the pieces make."""
    wanted = [point for point in points if point.kg]
    half = min(wanted, key=lambda p: abs(p.kg - wanted[-1].kg / 2))
    tried = {wanted[0].kg, half.kg, wanted[-1].kg} if discriminated else set()
    reached = NOTHING
    for point in wanted:
        made = chosen[point.kg]
        _one_up(sheet, point, made, members)
        if made.cannot is not None:
            continue
        reached = made
        if point.kg in tried:
            _discrimination(sheet, made)
    return reached


def _one_up(sheet: Sheet, point: LoadPoint, made: Placed, members: dict[str, Any]) -> None:
    able = "Change pieces until {load} stands there, wait until steady, read. Do not press zero."
    do = able if made.cannot is None else "{load} cannot be made of this set: left out."
    sheet.add_load("increasing", do, made, **{"test": "increasing", "reasons": point.reasons} | members)


def _discrimination(sheet: Sheet, made: Placed) -> None:
    """1.4 d added must move the display (NIST HB 44 2.20 T.N.7.2; OIML R 76-1:2006 3.8.2.2, from memory)."""
    in_use = range_in_use(sheet.facts.scale, sheet.facts.unit, made.kg)
    if in_use.d_kg < LEAST_DISCRIMINATED_KG:
        return
    added = Mass(plain(EXACT.multiply(in_use.d, Decimal("1.4"))), in_use.unit)
    small = sheet.made_beside(WantedLoad(added.kg, in_use.d_kg), made)
    of = ", ".join(small.pieces) or "small weights, not of this set"
    sheet.add(
        "discrimination", f"Leave the load on. Add {added.shown} gently ({of}): what is shown must go up. Take it off again.",
        test="discrimination", fill=READ, readings=2, each=("before", "with it"), load=sheet.load_of(made.kg), added=added,
    )  # fmt: skip


def back_to_zero(sheet: Sheet, reasons: tuple[Reason, ...] = (), **members: Any) -> None:
    """Add the reading of zero after a series."""
    sheet.add(
        "zero after", "Take everything off and read within half a minute. Do not press zero. Write down for how many "
        "minutes the heaviest load stood there, if you know it.", pieces=(), reasons=reasons,
        **{"test": "return to zero", "fill": (*READ, "minutes under load"), "readings": 1,
           "tolerance": sheet.tolerance_of_return()} | members,
    )  # fmt: skip


def _range_selected(sheet: Sheet, way: WayShown) -> None:
    in_use = way.scale.ranges_in(way.unit)[-1]
    words = f"up to {plain(in_use.max):f} {label_of(way.unit)}, division {in_use.d:f} {label_of(way.unit)}"
    sheet.add(
        f"range {way.selected}", f"Select range {way.selected} ({words}) and keep it there, even where the scale would "
        "change by itself. Nothing on it: press zero, and read.", test="zero set", fill=READ, readings=1,
        tolerance=sheet.tolerance(Decimal(0)),
    )  # fmt: skip


def creep(sheet: Sheet, reached: Placed) -> None:
    """Add the half hour under load, which is asked for only where there is a reason."""
    sheet.part = "only where there is a reason"
    if not reached.kg:
        return
    only = "only where a drifting display is suspected, or a load cell was changed"
    sheet.add_load(
        "creep", "Put {load} on and leave it for half an hour.", reached, test="creep", tolerance=None,
        readings=3, each=("at once", "after 15 min", "after 30 min"), only_if=only,
    )  # fmt: skip
    back_to_zero(sheet, only_if=only)


def other_units(sheet: Sheet, top: TopLoad) -> None:
    """Add the loads in every further unit that the scale shows, each with its own steps of the tolerance."""
    sheet.part = "in another unit"
    for way in ways_shown(sheet.facts.scale, sheet.plan_unit):
        if way.unit != sheet.plan_unit:
            sheet.show(way)
            _in_unit(sheet, way, top_in(way, top))


def _in_unit(sheet: Sheet, way: WayShown, top: TopLoad) -> None:
    label = label_of(way.unit)
    only = f"only where {label} can be reached; where it is locked, leave it locked"
    named = f" and range {way.selected}" if way.selected is not None else ""
    sheet.add(
        f"{label} shown", f"Switch to {label}{named}. Nothing on it: press zero, and read.", test="zero set", fill=READ,
        readings=1, tolerance=sheet.tolerance(Decimal(0)), only_if=only,
    )  # fmt: skip
    points = points_of(sheet, top)
    up(sheet, points, _chosen(sheet, points), test="unit switch", only_if=only)
    back_to_zero(sheet, only_if=only)
