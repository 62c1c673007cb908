"""The steps that only one kind of scale has, and the tare that every scale has, each with its loads and boxes."""

from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from typing import Any, Final

from api.metrology.kinds_of_plan import Extra, KindPlan
from api.metrology.load_points import Reason, share_of
from api.metrology.mass import EXACT
from api.metrology.pieces_for_loads import WantedLoad, window_of
from api.metrology.plan_places import load_of_corners, numbered, place_words
from api.metrology.plan_sheet import LOOK, READ, Placed, Sheet
from api.metrology.stock import plain
from api.metrology.terms import Position
from api.metrology.top_load import TopLoad

# A net load shows what the tare does as well at half of what is asked: our choice.
_LEAST_NET: Final = Decimal("0.5")


def extras_of(kind: KindPlan, top: TopLoad) -> tuple[Extra, ...]:
    """Return the kind's own steps; a kind without a tare of its own has one of a twentieth of the top load."""
    if any(extra.test == "tare" for extra in kind.extras):
        return kind.extras
    tare_kg, net_kg = (f"{plain(share_of(top.kg, share)):f}" for share in ("0.05", "0.25"))
    tare = Extra(
        "tare", "Put {load} on. Write down what it shows, then press tare: zero.", "tare", load_kg=tare_kg,
        added_kg=(net_kg,), then="Leave it on and add {added}: it must show {net}. Clear the tare.",
    )  # fmt: skip
    return (*kind.extras, tare)


def extras(sheet: Sheet, kind: KindPlan, top: TopLoad) -> None:
    """Add every step of the kind's own."""
    sheet.part = "what only this kind of scale has"
    for extra in extras_of(kind, top):
        if extra.only_if is not None:
            sheet.emptied()
        base = _base(sheet, extra, kind, top)
        for place in extra.positions or (None,):
            _one(sheet, extra, place, base)
        for added_kg in extra.added_kg:
            _on_top(sheet, extra, base, Decimal(added_kg), top)
        if extra.only_if is not None:
            sheet.emptied()
    sheet.emptied()


def wanted_of(sheet: Sheet, kind: KindPlan, top: TopLoad) -> Iterator[WantedLoad]:
    """Give every load that the kind's own steps ask pieces for; a load on top of another is asked as the sum of both."""
    for extra in extras_of(kind, top):
        if extra.load_kg is None:
            continue
        load_kg = min(Decimal(extra.load_kg), top.limit_kg)
        yield sheet.wanted(load_kg, never_above=not extra.added_kg)
        for added_kg in map(Decimal, extra.added_kg):
            total = EXACT.add(load_kg, added_kg)
            if total <= top.limit_kg:
                least, most = (EXACT.add(load_kg, edge) for edge in _window(extra, added_kg))
                yield replace(sheet.wanted(total), within_kg=(least, min(most, top.limit_kg)))


def _window(extra: Extra, added_kg: Decimal) -> tuple[Decimal, Decimal]:
    """What serves on top of another load, in kg: a difference as asked, within 2 %; a net load may be as light as half."""
    if extra.test == "tare":
        return EXACT.multiply(added_kg, _LEAST_NET), added_kg
    return window_of(added_kg)


def _base(sheet: Sheet, extra: Extra, kind: KindPlan, top: TopLoad) -> Placed | None:
    """The load that the step puts on, or None where it puts none."""
    if extra.load_kg is not None:
        return sheet.made(min(Decimal(extra.load_kg), top.limit_kg), never_above=True)
    if extra.test == "eccentricity":
        return sheet.made_within(load_of_corners(sheet.facts, kind, top))
    return None


def _one(sheet: Sheet, extra: Extra, place: Position | None, base: Placed | None) -> None:
    members: dict[str, Any] = {
        "test": extra.test, "readings": extra.count, "position": place, "only_if": extra.only_if,
        "each": extra.each or (numbered(extra.readings) if extra.readings > 1 else ()),
        "reasons": (Reason(extra.name, extra.source),),
    }  # fmt: skip
    do = extra.do + (f" Now: {place_words(place)}." if place else "")
    if base is None:
        sheet.add(extra.name, do, pieces=(), fill=READ if extra.count else LOOK, **members)
    elif extra.tare_kg is not None:
        _typed_tare(sheet, extra, do, base, members)
    elif extra.test == "tare":
        sheet.add_load(extra.name, do, base, **members | {"test": None, "tolerance": None})
    else:
        sheet.add_load(extra.name, do, base, **members)


def _typed_tare(sheet: Sheet, extra: Extra, do: str, base: Placed, members: dict[str, Any]) -> None:
    """A tare typed in: what is shown is the load less the tare, and no tolerance applies to it."""
    tare_kg = Decimal(extra.tare_kg or 0)
    net = sheet.load_of(EXACT.subtract(base.kg, tare_kg))
    do = do.replace("{net}", net.shown)
    sheet.add_load(extra.name, do, base, **members | {"load": net, "tare": sheet.load_of(tare_kg), "tolerance": None})


def _on_top(sheet: Sheet, extra: Extra, base: Placed | None, added_kg: Decimal, top: TopLoad) -> None:
    """A load on top of another, which stays: the difference, or the net load, is what counts."""
    assert base is not None  # an extra with loads on top has a load of its own
    net = extra.test == "tare"
    added = _added(sheet, extra, base, added_kg, top)
    total = Placed(EXACT.add(base.kg, added.kg), (*base.pieces, *added.pieces), added.cannot)
    if added.cannot is not None:
        sheet.add(
            f"{extra.name}, and {sheet.load_of(added_kg).shown}", "Left out.", test=extra.test, cannot=added.cannot
        )
        return
    shown = sheet.load_of(added.kg if net else total.kg)
    words = {"{load}": sheet.load_of(base.kg).shown, "{added}": sheet.load_of(added.kg).shown, "{net}": shown.shown}
    do = extra.then
    for mark, meant in words.items():
        do = do.replace(mark, meant)
    sheet.add_load(
        f"{extra.name}, and {sheet.load_of(added.kg).shown}", do, total, test=extra.test, load=shown,
        added=sheet.load_of(added.kg), tare=sheet.load_of(base.kg) if net else None,
        tolerance=sheet.tolerance(shown.kg), reasons=(Reason(extra.name, extra.source),),
    )  # fmt: skip


def _added(sheet: Sheet, extra: Extra, base: Placed, added_kg: Decimal, top: TopLoad) -> Placed:
    """What goes on top: of the pieces that are left, and together with the base load never more than is safe."""
    least, most = _window(extra, added_kg)
    most = min(most, EXACT.subtract(top.limit_kg, base.kg))
    if most < least:
        return Placed(added_kg, (), f"{base.kg:f} and {added_kg:f} kg together are more than may be placed.")
    net = extra.test == "tare"
    room = _room(sheet, base, least if net else added_kg, net=net)
    return sheet.made_beside(WantedLoad(min(added_kg, most), room, within_kg=(least, most)), base)


def _room(sheet: Sheet, base: Placed, added_kg: Decimal, *, net: bool) -> Decimal:
    """The tolerance that the added pieces have, in kg: of the net load; of a sum, less what those of the base load take."""
    tolerance_at = sheet.tolerance_kg(sheet.facts.as_left)
    if net:
        return tolerance_at(added_kg)
    taken = EXACT.multiply(sheet.bound_kg(base.pieces), sheet.facts.policy.weights_divisor)
    return max(Decimal(0), EXACT.subtract(tolerance_at(EXACT.add(base.kg, added_kg)), taken))
