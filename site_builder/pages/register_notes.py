"""What the rules of the trade have against an entry of the register, as the register answers it."""

from collections.abc import Sequence
from typing import Any

from site_builder.markup import Html, join, tag


def register_notes(notes: Sequence[dict[str, Any]]) -> Html | None:
    """Return the notes of one entry, each with its source and the way out; None where there is none."""
    if not notes:
        return None
    return tag("ul", [tag("li", _note(note)) for note in notes], class_="notes")


def _note(note: dict[str, Any]) -> Html:
    source = f" {note['source']}." if note["source"] else ""
    return join(note["sentence"], tag("small", f"{note['way_out']}{source}"))
