"""The steps of a plan around the loads: arriving, looking, zero; and deciding, leaving, telling."""

from decimal import Decimal
from typing import Final

from api.metrology.kinds_of_plan import KindPlan
from api.metrology.plan_sheet import Sheet

_NOTHING: Final = Decimal(0)
READ: Final = ("reading", "unit", "time")
ZEROED_BY_TEST: Final = ("bed", "bed pads", "incubator")


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


def after(sheet: Sheet) -> None:
    """Add what is tried without loads: tare, hold, unit and power."""
    sheet.add("tare", "Put something on, press tare: zero. Add a known load: it must show that load. Clear the tare.",
              test="tare", fill=READ, readings=1)  # fmt: skip
    sheet.add("hold", "Press hold with a load on, take the load off: it must let go.", fill=("seen", "in order"))
    sheet.add("unit key", "Try the unit key: it must stay in kilograms (grams on a balance). Can another unit be "
              "reached, write down which.", test="unit switch", fill=("unit", "seen"), cautions=("C-03",))  # fmt: skip
    sheet.add("off and on", "Switch it off and on: it must come back to zero and to the same unit.", test="power cycle",
              fill=READ, readings=1)  # fmt: skip


def decide(sheet: Sheet) -> None:
    """Add the decision, and everything again where it was adjusted."""
    sheet.add("decide", "Compare every reading with its tolerance. Leave it, clean and zero it, adjust it, or take it out "
              "of use.",
              fill=("decision",), cautions=("C-04", "C-14", "C-17"))  # fmt: skip
    sheet.add("as left", "Only after an adjustment or repair: do the same loads again, on a second sheet, against the "
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
