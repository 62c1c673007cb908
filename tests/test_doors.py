"""The pointer follower of these tests against the RFC's own table: a check of the checks."""

import pytest

from tests.doors import resolved

# RFC 6901 section 5 (the document) and section 6 (its table of pointers as URI fragments).
DOCUMENT = {
    "foo": ["bar", "baz"], "": 0, "a/b": 1, "c%d": 2, "e^f": 3, "g|h": 4, "i\\j": 5, 'k"l': 6, " ": 7, "m~n": 8,
}  # fmt: skip
TABLE = [
    ("#", DOCUMENT), ("#/foo", ["bar", "baz"]), ("#/foo/0", "bar"), ("#/", 0), ("#/a~1b", 1), ("#/c%25d", 2),
    ("#/e%5Ef", 3), ("#/g%7Ch", 4), ("#/i%5Cj", 5), ("#/k%22l", 6), ("#/%20", 7), ("#/m~0n", 8),
]  # fmt: skip


@pytest.mark.parametrize(("pointer", "value"), TABLE)
def test_a_pointer_of_the_rfc_is_followed_to_the_value_of_the_rfc(pointer: str, value: object) -> None:
    assert resolved(DOCUMENT, pointer) == value


def test_a_pointer_into_nothing_is_told() -> None:
    with pytest.raises(KeyError):
        resolved(DOCUMENT, "#/foo/2")
