"""The id on a label, made from the record's without signal: short, the same wherever it is made, with a check character.

How it is made, for any app: SHA-256 over the UTF-8 text `label/1|SITE|CALIBRATION|PLACE`, with the site's code, the record's
id in lower case, and which label of that record it is, from 1. Its first 55 bits, most significant first, in eleven
characters of five bits from `0123456789ABCDEFGHJKMNPQRSTVWXYZ`; then a check character by ISO/IEC 7064 MOD 37,36. It is
written in three groups of four: `M2M0-1MJN-YYPC`.
"""

import hashlib
from typing import Final

LETTERS: Final = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"  # no I, L, O, U: they are read as 1, 1, 0, V
CHECKED: Final = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"
_LENGTH: Final = 11


def label_id(site: str, calibration: str, place: int = 1) -> str:
    """Return the id of a label of a record.

    >>> label_id("QG", "0193f0aa-0000-7000-8000-000000000002")
    'M2M0-1MJN-YYPC'
    """
    said = f"label/1|{site}|{calibration.lower()}|{place}"
    bits = int.from_bytes(hashlib.sha256(said.encode()).digest()[:7], "big") >> 1
    body = "".join(LETTERS[bits >> 5 * (_LENGTH - 1 - n) & 31] for n in range(_LENGTH))
    return grouped(body + check_character(body))


def check_character(text: str) -> str:
    """Return the check character of a text of capitals and digits by ISO/IEC 7064 MOD 37,36: one wrong character shows."""
    product = 36
    for character in text:
        product = (product + CHECKED.index(character)) % 36 or 36
        product = product * 2 % 37
    return CHECKED[(37 - product) % 36]


def grouped(text: str) -> str:
    """Return an id as it is written on a label, in groups of four."""
    return "-".join(text[n : n + 4] for n in range(0, len(text), 4))


def read_label_id(text: str) -> str | None:
    """Return an id as typed from a label in the form it is kept in; None where it is none, or mistyped.

    >>> read_label_id("m2m0 1mjn yypc"), read_label_id("M2M0-1MJN-YYPD")
    ('M2M0-1MJN-YYPC', None)
    """
    plain = text.upper().replace("-", "").replace(" ", "")
    body, check = plain[:-1], plain[-1:]
    if len(plain) != _LENGTH + 1 or any(character not in LETTERS for character in body):
        return None
    return grouped(plain) if check_character(body) == check else None
