"""What comes within another JSON text and is kept byte for byte: the value of a member, however it is written."""

import pytest

from schemas.json_members import member_bytes
from schemas.strict_json import NotStrictJson


@pytest.mark.parametrize(("body", "value"), [
    (b'{"content":{"a":1}}', b'{"a":1}'),
    (b' {\n "x" : {"content": 1} ,\t"content" :  { "b" : [ "}" , 2 ] }  , "y":"z"}', b'{ "b" : [ "}" , 2 ] }'),
    (rb'{"cont\u0065nt": "\u00e9"}', rb'"\u00e9"'),
    ('{"ä": "content", "content": "ü"}'.encode(), '"ü"'.encode()),
    (b'{"because":"\\"content\\": 3","content":4}', b"4"),
])  # fmt: skip
def test_the_value_of_a_member_is_what_was_sent(body: bytes, value: bytes) -> None:
    assert member_bytes(body, "content") == value


@pytest.mark.parametrize("body", [b"{}", b"[]", b'"content"', b'{"other": 1}', b""])
def test_a_body_without_the_member_is_refused(body: bytes) -> None:
    with pytest.raises(NotStrictJson):
        member_bytes(body, "content")
