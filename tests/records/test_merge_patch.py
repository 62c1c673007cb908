"""RFC 7396, appendix A: the fifteen examples, as printed there."""

from typing import Any

import pytest

from api.records.merge_patch import merged_with

# Each an original, a patch, and what comes of them.
APPENDIX_A: list[tuple[Any, Any, Any]] = [
    ({"a": "b"}, {"a": "c"}, {"a": "c"}),
    ({"a": "b"}, {"b": "c"}, {"a": "b", "b": "c"}),
    ({"a": "b"}, {"a": None}, {}),
    ({"a": "b", "b": "c"}, {"a": None}, {"b": "c"}),
    ({"a": ["b"]}, {"a": "c"}, {"a": "c"}),
    ({"a": "c"}, {"a": ["b"]}, {"a": ["b"]}),
    ({"a": {"b": "c"}}, {"a": {"b": "d", "c": None}}, {"a": {"b": "d"}}),
    ({"a": [{"b": "c"}]}, {"a": [1]}, {"a": [1]}),
    (["a", "b"], ["c", "d"], ["c", "d"]),
    ({"a": "b"}, ["c"], ["c"]),
    ({"a": "foo"}, None, None),
    ({"a": "foo"}, "bar", "bar"),
    ({"e": None}, {"a": 1}, {"e": None, "a": 1}),
    ([1, 2], {"a": "b", "c": None}, {"a": "b"}),
    ({}, {"a": {"bb": {"ccc": None}}}, {"a": {"bb": {}}}),
]


@pytest.mark.parametrize(("original", "patch", "result"), APPENDIX_A)
def test_the_examples_of_the_rfc_come_out_as_printed(original: Any, patch: Any, result: Any) -> None:
    assert merged_with(original, patch) == result


def test_neither_the_document_nor_the_patch_is_changed() -> None:
    original, patch = {"a": {"b": 1}}, {"a": {"b": None, "c": 2}}

    merged_with(original, patch)

    assert (original, patch) == ({"a": {"b": 1}}, {"a": {"b": None, "c": 2}})
