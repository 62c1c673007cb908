"""Whether it was the right scale, set as the register has it, and in order: what a visit says against the register.

A flag's sentence goes where its visit's texts may not (C-11), so it never repeats what was typed: its pointer leads there.
"""

from api.metrology.judgement import Flag
from api.metrology.scale import Scale
from api.metrology.submission import Configuration, Submission

# What tells one scale from another; a place or a firmware that differs is worth a note only.
_DECISIVE = ("asset tag", "serial", "model", "capacity label", "interval label", "class mark")


def identity_flags(sent: Submission, scale: Scale) -> list[Flag]:
    """Return the flags for a scale that may be another one, is set otherwise than registered, or is not in order."""
    return [*_other_scale(sent), *_set_otherwise(sent, scale), *_not_in_order(sent)]


def identity_notes(sent: Submission) -> list[Flag]:
    """Return the notes for what differs from the register without making it another scale."""
    return [_differs(sent, number) for number, item in enumerate(sent.identity) if _is_noted(item.item, item.matches)]


def _is_noted(item: str, matches: bool) -> bool:
    return not matches and item not in _DECISIVE


def _differs(sent: Submission, number: int) -> Flag:
    item = sent.identity[number]
    said = f"The {item.item} seen is not as on the register."
    return Flag("identity-differs", said, {"item": item.item}, f"#/identity/{number}")


def _other_scale(sent: Submission) -> list[Flag]:
    return [
        _differs(sent, number)
        for number, item in enumerate(sent.identity)
        if not item.matches and item.item in _DECISIVE
    ]


def _set_otherwise(sent: Submission, scale: Scale) -> list[Flag]:
    """Capacity and interval as the scale was left, against its ranges in that unit."""
    read = sent.configuration
    after = (read.after or read.before) if read else None
    if read is None or after is None:
        return []
    pointer = "#/configuration/after" if read.after else "#/configuration/before"
    return [
        Flag("configuration-differs", f"It is set to {said}, which is not as on the register.", {}, pointer)
        for said in _unlike(after, scale)
    ]


def _unlike(left: Configuration, scale: Scale) -> list[str]:
    said = []
    if left.capacity is not None and left.capacity.kg not in {
        r.max_kg for r in scale.by_unit.get(left.capacity.unit, ())
    }:
        said.append(f"a capacity of {left.capacity.shown}")
    if left.interval is not None and left.interval.kg not in {
        r.d_kg for r in scale.by_unit.get(left.interval.unit, ())
    }:
        said.append(f"an interval of {left.interval.shown}")
    return said


def _not_in_order(sent: Submission) -> list[Flag]:
    return [
        Flag("check-not-in-order", "Something that was looked at was not in order.", {}, f"#/checks/{number}")
        for number, check in enumerate(sent.checks)
        if check.result == "not in order"
    ]
