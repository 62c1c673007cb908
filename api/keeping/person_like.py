"""Text that looks like a person's. It is kept, shown on no page, and flagged until somebody has looked (C-11)."""

import re
from typing import Any

from api.metrology.judgement import Flag
from api.records.differences import pointer_step

# Common practice, no source: titles and record words followed by a name or number, dates of birth, long numbers.
_PERSON = re.compile(
    r"\b(?:[Mm]rs?|[Mm]s|[Mm]iss|[Pp]atient|[Pp]t|MRN|mrn|NHS|nhs|DOB|dob|[Bb]orn)\b[\s.:#-]*(?:no\.?\s*)?[A-Z0-9][\w-]*"
    r"|(?<!\d)\d{7,}(?!\d)"
)
# Free text only: codes, serials and units have a form of their own.
FREE_TEXT = frozenset({
    "remarks", "remark", "text", "reason", "excluded", "tested_at", "role", "seen", "item", "what",
    "words", "reported_for", "checked_for", "described", "place",
})  # fmt: skip


def person_like(content: Any) -> list[Flag]:
    """Return a flag for each free text in a submission that looks as if it named a person."""
    said = "This text looks as if it named a person. No patient data, anywhere (C-11)."
    return [
        Flag("looks-like-a-person", said, {}, f"#{''.join(map(pointer_step, steps))}")
        for steps, text in _texts(content, (), [])
        if names_a_person(text)
    ]


def names_a_person(text: str) -> bool:
    """Return whether a text looks as if it named a person."""
    return _PERSON.search(text) is not None


_Found = list[tuple[tuple[str | int, ...], str]]


def _texts(value: Any, steps: tuple[str | int, ...], found: _Found) -> _Found:
    """Every free text with the steps that lead to it; what cannot hold any is not walked."""
    if type(value) is dict:
        for name, item in value.items():
            if type(item) is str:
                if name in FREE_TEXT:
                    found.append(((*steps, name), item))
            elif (type(item) is dict or type(item) is list) and name not in _NO_TEXT:
                _texts(item, (*steps, name), found)
    elif type(value) is list:
        for place, item in enumerate(value):
            if type(item) is dict:
                _texts(item, (*steps, place), found)
    return found


_NO_TEXT = frozenset({
    "indication", "load", "pieces", "added", "tare", "change_over_added", "performed", "installation", "counters",
    "technicians",
})  # fmt: skip
