"""Discrimination: a small load of 1.4 d, gently placed, must change what a digital scale shows."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Final

from api.metrology.judgement import Change, Flag
from api.metrology.readings import Reading
from api.metrology.scale import Range
from api.metrology.terms import SchemeName
from api.metrology.verdict import Verdict

# 1.4 d: OIML R 76-1:2006 3.8.2.2 and NIST HB 44 section 2.20 T.N.7.2, from memory (high confidence).
MOST_ADDED = Decimal("1.4")
# HB 44 asks for 2 d, started just below the lower edge of the zone of uncertainty (N.1.5); R 76 for any clear change.
LEAST_CHANGE = {"hb44": 2, "r76": 1, "house": 1}
_CLEAR = "a change beyond doubt, which is one d on a digital display; from memory"
SOURCES: Final[dict[SchemeName, str]] = {
    "hb44": "NIST HB 44 section 2.20 T.N.7.2 and N.1.5: two d, started just below the change-over; from memory",
    "r76": f"OIML R 76-1:2006 3.8.2.2: {_CLEAR}",
    "house": f"a house tolerance has no rule of its own and takes that of OIML R 76-1:2006 3.8.2.2: {_CLEAR}",
}


def change_of(reading: Reading, in_use: Range, scheme_name: SchemeName) -> Change:
    """Return what the added load did and what it had to do, in kilograms, exact; positive when the scale shows more."""
    seen = None if reading.before is None else reading.indication.kg - reading.before.kg
    return Change(
        reading.before, reading.added, MOST_ADDED * in_use.d_kg, seen, LEAST_CHANGE[scheme_name] * in_use.d_kg,
        SOURCES[scheme_name],
    )  # fmt: skip


def judge_discrimination(change: Change) -> tuple[Verdict, Sequence[Flag]]:
    """Return whether the added load changed the indication enough, with the reason where that cannot be said."""
    added = change.added
    if change.seen_kg is None or added is None:
        return "undecided", [Flag("no-change-recorded", "The indication before, or the added load, was not recorded.")]
    if added.kg > change.most_added_kg:
        said = f"{added.shown} was added; at most 1.4 d = {change.most_added_kg:f} kg decides it."
        return "undecided", [Flag("too-much-added", said)]
    if change.seen_kg >= change.required_kg:
        return "pass", []
    if change.seen_kg <= 0:
        return "fail", [Flag("no-change", f"Adding {added.shown} changed nothing.")]
    return "undecided", [
        Flag("one-division", "It changed by one division; started just below the change-over it must change by two.")
    ]
