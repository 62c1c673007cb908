"""Cursors are good for the list they were made for, and for nothing else. The seal is HMAC (RFC 2104) with SHA-256, whose
own test cases are the standard library's; here it is what it covers."""

import re
from base64 import urlsafe_b64decode

import pytest
from hypothesis import given
from hypothesis import strategies as some

from api.ledger.cursor_text import SEAL_BYTES, cursor_text, place_of

SECRET = b"\x01" * 32
LIST = "/v1/devices?site=QG"


@given(some.binary(max_size=200), some.text(max_size=60))
def test_a_cursor_gives_back_its_place_in_its_own_list(place: bytes, of_list: str) -> None:
    text = cursor_text(SECRET, of_list, place)

    assert re.fullmatch(r"[0-9A-Za-z_-]+", text)
    assert place_of(SECRET, of_list, text) == place


@pytest.mark.parametrize("of_list", ["/v1/devices?site=HM", "/v1/devices?", "/v1/wards?site=QG", ""])
def test_a_cursor_of_another_list_or_of_other_filters_is_none(of_list: str) -> None:
    assert place_of(SECRET, of_list, cursor_text(SECRET, LIST, b"place")) is None


def test_a_cursor_of_another_service_is_none() -> None:
    assert place_of(SECRET, LIST, cursor_text(b"\x02" * 32, LIST, b"place")) is None


def test_a_cursor_with_any_character_changed_is_none() -> None:
    text = cursor_text(SECRET, LIST, b'["A-04"]')

    for at, was in enumerate(text):
        for put in "AZaz09-_":
            if put != was:
                assert place_of(SECRET, LIST, text[:at] + put + text[at + 1 :]) is None, (at, put)


@given(some.text(max_size=80))
def test_no_other_text_is_a_cursor(text: str) -> None:
    assert place_of(SECRET, LIST, text) is None


def test_a_place_cannot_be_moved_under_a_seal() -> None:
    seal = urlsafe_b64decode(cursor_text(SECRET, LIST, b"one") + "==")[:SEAL_BYTES]
    other = urlsafe_b64decode(cursor_text(SECRET, LIST, b"two") + "==")[:SEAL_BYTES]

    assert seal != other
