"""Discrimination: a small load of 1.4 d, gently placed, must change what a digital scale shows."""

from collections.abc import Sequence
from decimal import Decimal

from api.metrology.judgement import Flag
from api.metrology.readings import Reading
from api.metrology.scale import Range
from api.metrology.verdict import Verdict

# 1.4 d: OIML R 76-1:2006 3.8.2.2 and NIST HB 44 section 2.20 T.N.7.2, from memory (high confidence).
MOST_ADDED = Decimal("1.4")
# HB 44 asks for 2 d, started just below the lower edge of the zone of uncertainty (N.1.5); R 76 for any clear change.
LEAST_CHANGE = {"hb44": 2, "r76": 1, "house": 1}


def judge_discrimination(reading: Reading, in_use: Range, scheme_name: str) -> tuple[Verdict, Sequence[Flag]]:
    """Return whether the added load changed the indication enough, with the reason where that cannot be said."""
    if reading.before is None or reading.added is None:
        return "undecided", [Flag("no-change-recorded", "The indication before, or the added load, was not recorded.")]
    if reading.added.kg > MOST_ADDED * in_use.d_kg:
        return "undecided", [
            Flag(
                "too-much-added",
                f"{reading.added.shown} was added; at most 1.4 d = {MOST_ADDED * in_use.d:f} decides it.",
            )
        ]
    change = reading.indication.kg - reading.before.kg
    if change >= LEAST_CHANGE[scheme_name] * in_use.d_kg:
        return "pass", []
    if change <= 0:
        return "fail", [Flag("no-change", f"Adding {reading.added.shown} changed nothing.")]
    return "undecided", [
        Flag("one-division", "It changed by one division; started just below the change-over it must change by two.")
    ]
