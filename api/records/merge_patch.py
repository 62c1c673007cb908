"""JSON merge patch (RFC 7396): a document that says what is to become of another."""

from typing import Any


def merged_with(target: Any, patch: Any) -> Any:
    """Return what a patch makes of a document: null takes a member away, a list takes the place of a list whole.

    >>> merged_with({"a": 1, "b": {"c": 2, "d": 3}}, {"b": {"c": None}, "e": [4]})
    {'a': 1, 'b': {'d': 3}, 'e': [4]}
    """
    if not isinstance(patch, dict):
        return patch
    found = dict(target) if isinstance(target, dict) else {}
    for name, value in patch.items():
        if value is None:
            found.pop(name, None)
        else:
            found[name] = merged_with(found.get(name), value)
    return found
