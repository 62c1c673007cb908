"""What must not be read on a page: text that looks like a person's stays in the record and is hidden from every page.

The service flags such text with a pointer to it; this puts a notice in its place, in a copy. The record is not touched.
"""

import copy
from typing import Any, Final

from site_builder.pointed import inside, steps_of

NOTICE: Final = "[hidden: this text looked like a person's; a reviewer has to look at it]"
_NEVER_TYPED: Final = ("at", "value", "unit")


def withheld(sent: dict[str, Any], flags: list[dict[str, Any]]) -> dict[str, Any]:
    """Return what was sent with every text hidden that a flag points at as looking like a person's."""
    pointers = [f["pointer"] for f in flags if "person" in f["code"] and f.get("pointer")]
    if not pointers:
        return sent
    shown = copy.deepcopy(sent)
    for pointer in pointers:
        _hide(shown, steps_of(pointer))
    return shown


def _hide(where: Any, steps: list[str]) -> None:
    """Follow a pointer to its text and hide it; a pointer to a list or an object hides every text in it."""
    *before, last = steps
    where = inside(where, before)
    if isinstance(where, dict) and last in where:
        where[last] = _hidden(where[last])
    elif isinstance(where, list) and last.isdigit() and int(last) < len(where):
        where[int(last)] = _hidden(where[int(last)])


def _hidden(value: Any) -> Any:
    if isinstance(value, str):
        return NOTICE
    if isinstance(value, dict):
        return {key: item if key in _NEVER_TYPED else _hidden(item) for key, item in value.items()}
    return [_hidden(item) for item in value] if isinstance(value, list) else value
