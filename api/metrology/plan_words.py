"""The steps of a plan around the loads: arriving, looking, zero; and deciding, leaving, telling."""

from decimal import Decimal
from typing import Final

from api.metrology.kinds_of_plan import KindPlan
from api.metrology.mass import label_of
from api.metrology.plan_sheet import READ, Sheet
from api.metrology.plan_steps import PlanFacts

_NOTHING: Final = Decimal(0)
ZEROED_BY_TEST: Final = ("bed", "bed pads", "incubator")


def stopped(facts: PlanFacts) -> str:
    """Return why nothing may be loaded where the scale stands, and the way out."""
    where = f"The ward ({facts.ward})" if facts.ward else "The ward"
    return (
        f"{where} is or borders a magnet zone: no weight, trolley or tool goes in. Take the scale out with its safety "
        "officer's agreement and ask for the plan of the ward where it will be tested; if it cannot come out: not tested."
    )


def stop(sheet: Sheet) -> None:
    """Add the one step of a scale in a magnet zone: whom to ask, where it may be tested, and what was decided."""
    call = f" Ask {sheet.facts.call}." if sheet.facts.call else " Ask the safety officer of the zone."
    sheet.add(
        "stop: magnet zone", "Go no further: no pieces, trolley, tools or telephone beyond this point." + call
        + " Write down where the scale may be tested, who agreed, and when; or that it is not tested.",
        fill=("agreed with", "seen", "decision", "time"), cautions=("C-18",),
    )  # fmt: skip


def before(sheet: Sheet, kind: KindPlan) -> None:
    """Add what comes before the first load, up to the zero key."""
    clean = "Say who you are, what you do and how long; ask what trouble is known. Clean scale, pieces and trolley."
    if sheet.facts.infection:
        clean += " The ward is flagged for infection: ask before you enter, and take this sheet in on paper."
    sheet.add("entrance talk and cleaning", clean, fill=("time", "in order"), cautions=("C-09", "C-20"))
    sheet.add("identity", "Compare tag, serial, model, capacity, division and class with this sheet; look whether it "
              "is whole and safe.", fill=("seen", "in order"))  # fmt: skip
    sheet.add(
        "counters and seals",
        "Write down event counters and seal before anything is touched.",
        fill=("number", "seen"),
    )
    sheet.add("configuration before", "Write down the unit shown, whether it is locked, tare in memory, hold and "
              "filter. Change nothing.", fill=("unit", "seen"), cautions=("C-03", "C-14"))  # fmt: skip
    if facts_ranges := _ranges(sheet):
        sheet.add(
            "range found", f"Write down which range is selected ({facts_ranges}). Change nothing.", fill=("number",)
        )
    warm = f" Switched on for at least {sheet.facts.warm_up_min} minutes." if sheet.facts.warm_up_min else ""
    sheet.add("set-up", kind.set_up + warm, fill=("in order",), cautions=kind.cautions)
    sheet.add(
        "zero found", "Empty, before you touch any key: what does it show?", test="zero found", fill=READ, readings=1
    )
    sheet.add(
        "zero set",
        "Press the zero key with nothing on it, and read.",
        test="zero set",
        tolerance=sheet.tolerance(_NOTHING),
        fill=READ,
        readings=1,
    )


def _ranges(sheet: Sheet) -> str:
    scale = sheet.facts.scale
    if scale.arrangement != "multiple-range":
        return ""
    ranges = scale.ranges_in(sheet.plan_unit)
    return "; ".join(
        f"{number} is up to {r.max:f} {label_of(r.unit)} by {r.d:f}" for number, r in enumerate(ranges, start=1)
    )


def after(sheet: Sheet) -> None:
    """Add what is tried without pieces: hold, unit and power."""
    sheet.part = "without pieces"
    sheet.add("hold", "Put something on, press hold, take it off: it must let go.", fill=("seen", "in order"))
    sheet.add("unit key", f"Try the unit key: it must stay in {label_of(sheet.plan_unit)}. Can another unit be reached, "
              "write down which.", fill=("unit", "seen"), cautions=("C-03",))  # fmt: skip
    sheet.add("off and on", "Switch it off and on: it must come back to zero and to the same unit.", test="power cycle",
              fill=READ, readings=1, tolerance=sheet.tolerance(_NOTHING))  # fmt: skip


def decide(sheet: Sheet) -> None:
    """Add the decision, and everything again where it was adjusted."""
    sheet.part = "deciding and leaving"
    sheet.add("decide", "Compare every reading with its tolerance. Leave it, clean and zero it, adjust it, or take it out "
              "of use.",
              fill=("decision",), cautions=("C-04", "C-14", "C-17"))  # fmt: skip
    sheet.add("as left", "After an adjustment or repair: do the same loads again, on a second sheet, against the "
              "smaller tolerance.", only_if="only where something was adjusted or repaired")  # fmt: skip
    sheet.add("configuration after", "Write down counters, seal, unit, lock and tare as you leave it. The scale is "
              "left in kilograms (a balance in grams).", fill=("number", "unit", "seen"), cautions=("C-03",))  # fmt: skip


def labelled(sheet: Sheet, kind: KindPlan) -> None:
    """Add the count of pieces, the label, and who is told."""
    sheet.add(
        "count the pieces", "Count the pieces: as many back as went out.", fill=("count",), cautions=("C-21", "C-09")
    )
    sheet.add("label", "Put the label on: date, tag, limits. Take the old one off.", fill=("number",))
    zeroed = " Say that it was zeroed, and when." if kind.kind in ZEROED_BY_TEST else ""
    sheet.add("inform", "Tell the person in charge the result, good or bad." + zeroed, fill=("told", "time"),
              cautions=("C-19",) if zeroed else ())  # fmt: skip
