"""What happens to a scale between calibrations: what each thing leaves open, and which later result closes it.

How far a thing that is open lets the scale be used is `use`'s. The rules are the design's own (a house choice): no document
gives them. A released result after it closes what testing can answer; what it cannot is closed by a person alone.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from typing import Final, Literal

from api.metrology.mass import METRIC
from api.metrology.verdict import Verdict

EventKind = Literal["report", "check", "move", "state", "limit", "repair"]
Trouble = Literal["dropped", "moved", "reads oddly", "damaged", "wrong unit", "other"]
RepairStage = Literal["sent", "returned"]
OpenKind = Literal[
    "dropped", "moved", "reads oddly", "damaged", "wrong unit", "other", "failed check", "moved on the register",
    "sent for repair", "back from repair", "not in order", "site unknown",
]  # fmt: skip
ClosedBy = Literal["a pass as left", "a pass where it stood", "the right unit, locked", "a person alone"]

CLOSED_BY: Final[dict[OpenKind, ClosedBy]] = {
    "dropped": "a pass as left",
    "moved": "a pass as left",
    "reads oddly": "a pass as left",
    "damaged": "a person alone",  # a test of the readings does not look for cracks and sharp edges
    "wrong unit": "the right unit, locked",
    "other": "a person alone",
    "failed check": "a pass as left",
    "moved on the register": "a pass where it stood",  # gravity differs from site to site
    "sent for repair": "a pass as left",
    "back from repair": "a pass as left",
    "not in order": "a person alone",
    "site unknown": "a person alone",
}


@dataclass(frozen=True, slots=True)
class OpenEvent:
    """One thing about a scale that nothing has closed yet, with the sentence for the ward."""

    kind: OpenKind
    sentence: str


@dataclass(frozen=True, slots=True)
class LaterResult:
    """A released calibration as it bears on what is open: when it began, how it left the scale, in which unit.

    `where_it_stood` is whether it was made at the site where the register has the scale that day.
    """

    calibration: str
    begun: datetime
    as_left: Verdict | None
    unit_left: str | None
    unit_locked: bool | None
    where_it_stood: bool = True


def left_open_by(kind: EventKind, what: str, verdict: Verdict | None) -> OpenKind | None:
    """Return what an event leaves open, or None where it leaves nothing.

    A check that passed, or could not be decided, leaves nothing open and closes nothing: it never raises use. A state and a
    limit speak through the register.
    """
    if kind == "report":
        return _TROUBLES[what]
    if kind == "check":
        return "failed check" if verdict in ("fail", "conditional fail") else None
    if kind == "repair":
        return "sent for repair" if what == "sent" else "back from repair"
    return "moved on the register" if kind == "move" else None


_TROUBLES: Final[dict[str, OpenKind]] = {
    "dropped": "dropped", "moved": "moved", "reads oddly": "reads oddly", "damaged": "damaged",
    "wrong unit": "wrong unit", "other": "other",
}  # fmt: skip


def closing_result(
    kind: OpenKind, happened_at: datetime, results: Iterable[LaterResult], *, lock_required: bool
) -> LaterResult | None:
    """Return the first of released results that closes what an event left open, or None: it must have begun after it."""
    wanted = CLOSED_BY[kind]
    if wanted == "a person alone":
        return None
    after = [result for result in results if result.begun >= happened_at]
    found = [result for result in after if _closes(wanted, result, lock_required)]
    return min(found, key=lambda result: (result.begun, result.calibration), default=None)


def _closes(wanted: ClosedBy, result: LaterResult, lock_required: bool) -> bool:
    if wanted == "the right unit, locked":
        return result.unit_left in METRIC and (result.unit_locked is True or not lock_required)
    passed = result.as_left in ("pass", "conditional pass")
    return passed and (result.where_it_stood or wanted != "a pass where it stood")


def open_sentence(kind: OpenKind, on: date, more: str = "") -> str:
    """Return what is open in a sentence for the ward; `more` is what only this event can say, and stands at its end."""
    return f"{_SAID[kind].format(day=f'{on.day} {on:%B} {on.year}')}{more}."


_SAID: Final[dict[OpenKind, str]] = {
    "dropped": "It was reported as dropped on {day} and not calibrated since",
    "moved": "It was reported as moved on {day} and not calibrated since",
    "reads oddly": "It was reported as reading oddly on {day} and not calibrated since",
    "damaged": "It was reported as damaged on {day}: a person has to look at it",
    "wrong unit": "It was reported as showing another unit than kilograms or grams on {day}",
    "other": "Something was reported about it on {day}: a person has to look into it",
    "failed check": "A check in service failed on {day}",
    "moved on the register": "It was moved on {day}, after it was last calibrated",
    "sent for repair": "It was sent for repair on {day} and is not back",
    "back from repair": "It came back from repair on {day} and was not calibrated since",
    "not in order": "On {day} something that was looked at was not in order: see that visit",
    "site unknown": "Its site is not on the register, so what the law asks of it there is not known",
}
