"""The label stuck on a scale after a visit: what it says, and whether that is still right. Pure; the worst is told first."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Literal

from api.metrology.verdict import Verdict

LabelSays = Literal["calibrated", "use within limits", "do not use"]
LabelEnd = Literal["void", "removed"]


@dataclass(frozen=True, slots=True)
class RecordSaid:
    """What the record behind a label says: its standing, scale and day, the verdict as left, how far it is proven."""

    standing: str
    device: str
    on: date
    as_left: Verdict | None
    proven_to_kg: Decimal | None


@dataclass(frozen=True, slots=True)
class LabelFacts:
    """A label and everything that its rightness follows from on a day; None where something is not known.

    `tags` are all under which the scale is known, `newer_on` the day of a later visit that measured it, `due` the date by
    the register and the record, `used_to_kg` the load up to which the scale is used.
    """

    says: LabelSays
    tag: str
    tested_on: date
    due: date | None
    up_to_kg: Decimal | None
    on: date
    ended: LabelEnd | None
    record: RecordSaid | None
    tags: tuple[str, ...] = ()
    newer_on: date | None = None
    due_by_record: date | None = None
    used_to_kg: Decimal | None = None


@dataclass(frozen=True, slots=True)
class NotRight:
    """One reason why a label is no longer right, or never was: a stable code and the sentence."""

    code: str
    sentence: str


def not_right(facts: LabelFacts) -> tuple[NotRight, ...]:
    """Return why a label is not right on a day; nothing where it is."""
    if facts.ended is not None:
        said = "It was made void." if facts.ended == "void" else "It was taken off the scale."
        return (NotRight(facts.ended, said),)
    if facts.record is None:
        return (NotRight("record-not-here", "The record that it speaks of is not on record here yet."),)
    return (*_by_standing(facts, facts.record), *_by_time(facts), *_by_content(facts, facts.record))


def _by_standing(facts: LabelFacts, record: RecordSaid) -> list[NotRight]:
    why = []
    if record.standing == "void":
        why.append(NotRight("record-void", "The record that it speaks of was made void."))
    if record.standing == "superseded":
        why.append(NotRight("record-superseded", "The record that it speaks of was superseded by another."))
    if record.standing == "provisional" and facts.says != "do not use":
        why.append(
            NotRight("record-not-reviewed", "The record that it speaks of is not reviewed yet: it proves nothing.")
        )
    return why


def _by_time(facts: LabelFacts) -> list[NotRight]:
    why = []
    if facts.newer_on is not None:
        why.append(NotRight("newer-visit", f"The scale was measured again on {facts.newer_on.isoformat()}."))
    if facts.due is not None and facts.due < facts.on:
        why.append(NotRight("past-due", f"Its date is past: due {facts.due.isoformat()}."))
    return why


def _by_content(facts: LabelFacts, record: RecordSaid) -> list[NotRight]:
    why = []
    if record.device not in (facts.tag, *facts.tags):
        why.append(NotRight("another-scale", f"Its record is of {record.device}, not of {facts.tag}."))
    if record.on != facts.tested_on:
        why.append(NotRight("another-day", f"Its record is of {record.on.isoformat()}, not of the day printed."))
    if facts.due is not None and facts.due_by_record is not None and facts.due > facts.due_by_record:
        why.append(NotRight("due-too-late", f"It is due earlier: {facts.due_by_record.isoformat()}."))
    return [*why, *_beyond_the_record(facts, record)]


def _beyond_the_record(facts: LabelFacts, record: RecordSaid) -> list[NotRight]:
    """A label may say less than its record, never more; what is proven in part says so (C-06)."""
    proven, passed = record.proven_to_kg, record.as_left in ("pass", "conditional pass")
    if facts.says == "calibrated" and not passed:
        return [
            NotRight("says-more", f"It says calibrated; its record says {record.as_left or 'nothing was measured'}.")
        ]
    if facts.says == "calibrated" and proven is not None and facts.used_to_kg is not None and proven < facts.used_to_kg:
        return [NotRight("limit-missing", f"It is proven up to {proven:f} kg only, and the label does not say so.")]
    if facts.up_to_kg is not None and (proven is None or facts.up_to_kg > proven):
        shown = "nothing" if proven is None else f"up to {proven:f} kg"
        return [NotRight("beyond-proof", f"It says up to {facts.up_to_kg:f} kg; proven is {shown}.")]
    return []
