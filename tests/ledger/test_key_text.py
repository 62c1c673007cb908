"""The text of a key: drawn from 256 bits and more, and a typing slip shows in it.

CRC-32's check value for "123456789" is 0xCBF43926 (the catalogue value of CRC-32/ISO-HDLC, from memory); a CRC of 32 bits
finds every error that lies within 32 bits, and so any one wrong character (its theory, from memory).
"""

import re

import pytest

from api.ledger.key_text import (
    ALPHABET,
    OF_INSTALLATION,
    OF_PERSON,
    PATTERN,
    SECRET_LENGTH,
    check_sum,
    digest_of_key,
    is_kept_as,
    key_text,
    new_key_text,
    without_secrets,
)


def number_of(digits: str) -> int:
    found = 0
    for digit in digits:
        found = found * 62 + ALPHABET.index(digit)
    return found


def test_the_check_sum_is_crc_32_in_base_62() -> None:
    assert number_of(check_sum("123456789")) == 0xCBF43926
    assert len({*ALPHABET}) == 62
    assert "".join(sorted(ALPHABET)) == ALPHABET


def test_a_secret_has_256_bits_and_its_sum_fits_six_characters() -> None:
    assert 62**SECRET_LENGTH >= 2**256
    assert 62**6 > 2**32


@pytest.mark.parametrize("prefix", [OF_INSTALLATION, OF_PERSON])
def test_a_new_key_is_read_back_and_matches_what_scanners_look_for(prefix: str) -> None:
    new = new_key_text(prefix)

    assert key_text(new.text) == new
    assert re.fullmatch(PATTERN, new.text)
    assert new.text.startswith(f"{prefix}_{new.name}_")


def test_two_keys_are_never_the_same() -> None:
    drawn = [new_key_text(OF_INSTALLATION) for _ in range(200)]

    assert len({key.text for key in drawn}) == len({key.name for key in drawn}) == 200


def test_every_single_wrong_character_shows() -> None:
    text = new_key_text(OF_INSTALLATION).text
    slips = [text[:i] + c + text[i + 1 :] for i in range(len(text)) for c in ALPHABET if c != text[i]]

    assert len(slips) > 3500
    assert [slip for slip in slips if key_text(slip) is not None] == []


def test_two_neighbours_changed_about_show() -> None:
    text = new_key_text(OF_PERSON).text
    swapped = [text[:i] + text[i + 1] + text[i] + text[i + 2 :] for i in range(len(text) - 1) if text[i] != text[i + 1]]

    assert [slip for slip in swapped if key_text(slip) is not None] == []


@pytest.mark.parametrize("text", ["", "sty_i_", "sty_i_x_y_z", " ", "é" * 70, "\x00" * 65])
def test_what_has_another_form_is_no_key(text: str) -> None:
    assert key_text(text) is None


def test_a_key_that_is_printed_by_mistake_does_not_show_its_secret() -> None:
    new = new_key_text(OF_INSTALLATION)

    assert new.text not in repr(new)
    assert new.text.split("_")[3] not in repr(new)


def test_only_the_whole_text_is_the_key_of_a_digest() -> None:
    first, other = new_key_text(OF_INSTALLATION), new_key_text(OF_INSTALLATION)

    assert is_kept_as(first.text, digest_of_key(first.text))
    assert not is_kept_as(other.text, digest_of_key(first.text))


@pytest.mark.parametrize("length", [70, 60, 40, 20])
def test_what_repeats_a_key_shows_its_name_and_no_more(length: int) -> None:
    new = new_key_text(OF_PERSON)

    said = without_secrets(f"Found '{new.text[:length]}…'; accepted: a word.")

    assert said == f"Found 'sty_p_{new.name}_...…'; accepted: a word."
