"""Ids of labels: made alike wherever, checked by one character."""

import hashlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.ledger.label_ids import CHECKED, LETTERS, check_character, label_id, read_label_id

RECORD = "0193f0aa-0000-7000-8000-000000000002"


def test_the_check_character_is_that_of_the_standard() -> None:
    """The identifier A1-2425G-ABC1234002-M is the worked example of the GRid standard (IFPI, 2006), whose check character is
    by ISO 7064 Mod 37,36; from memory, high confidence."""
    assert check_character("A12425GABC1234002") == "M"


def test_an_app_makes_the_same_id_by_the_words_of_the_contract() -> None:
    """By strings of bits instead of arithmetic: another way to the same id."""
    digest = hashlib.sha256(f"label/1|QG|{RECORD}|1".encode()).digest()
    bits = "".join(f"{byte:08b}" for byte in digest)[:55]
    body = "".join("0123456789ABCDEFGHJKMNPQRSTVWXYZ"[int(bits[n : n + 5], 2)] for n in range(0, 55, 5))

    assert label_id("QG", RECORD).replace("-", "") == body + check_character(body)


def test_site_record_and_place_each_make_another_id_and_the_case_of_a_record_does_not() -> None:
    ids = {label_id("QG", RECORD), label_id("HM", RECORD), label_id("QG", RECORD, 2), label_id("QG", RECORD[:-1] + "3")}

    assert len(ids) == 4
    assert label_id("QG", RECORD.upper()) == label_id("QG", RECORD)


@given(st.uuids().map(str), st.integers(1, 99))
def test_an_id_is_read_as_it_was_made_however_it_is_typed(record: str, place: int) -> None:
    made = label_id("QG", record, place)

    assert len(made) == 14
    assert all(character in LETTERS for character in made.replace("-", "")[:-1])
    assert read_label_id(made) == read_label_id(made.lower().replace("-", " ")) == made


@given(st.uuids().map(str), st.integers(0, 11), st.sampled_from(CHECKED))
def test_one_wrong_character_always_shows(record: str, at: int, wrong: str) -> None:
    plain = label_id("QG", record).replace("-", "")
    typed = plain[:at] + wrong + plain[at + 1 :]

    assert (read_label_id(typed) is None) is (typed != plain)


@pytest.mark.parametrize("text", ["", "M2M0", "M2M0-1MJN-YYPC-1", "M2M0-1MJN-YYP*", "ÄÄÄÄ-ÄÄÄÄ-ÄÄÄÄ", "O2M0-1MJN-YYPC"])
def test_what_is_no_id_is_none(text: str) -> None:
    assert read_label_id(text) is None
