"""The text of a key: a prefix that says whose it is, its public name, its secret, and a check sum against typing slips.

`sty_i_4kQ0vN2x_…43 characters…_1aB2cD` is an installation's, `sty_p_…` a person's. Only the digest of the whole text is
kept. The secret has 43 of 62 characters, which is 256 bits: a fast digest is right for it, slow ones are for passwords.
"""

import hmac
import re
import secrets
import zlib
from dataclasses import dataclass
from typing import Final

from api.ledger.digests import digest_of

# Digits, then capitals, then small letters: base 62 has no one standard; this is the order of the characters in ASCII.
ALPHABET: Final = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz"
NAME_LENGTH: Final = 8
SECRET_LENGTH: Final = 43
SUM_LENGTH: Final = 6  # 62 to the sixth is above 2 to the 32nd
OF_INSTALLATION: Final = "sty_i"
OF_PERSON: Final = "sty_p"
PREFIX_OF: Final = {"installation": OF_INSTALLATION, "person": OF_PERSON}
# What a secret scanner looks for.
PATTERN: Final = rf"sty_[ip]_[0-9A-Za-z]{{{NAME_LENGTH}}}_[0-9A-Za-z]{{{SECRET_LENGTH}}}_[0-9A-Za-z]{{{SUM_LENGTH}}}"
_WHOLE = re.compile(PATTERN)
_SECRET = re.compile(rf"(sty_[ip]_[0-9A-Za-z]{{{NAME_LENGTH}}}_)[0-9A-Za-z_]+")


@dataclass(frozen=True, slots=True)
class KeyText:
    """A key as its holder has it: whose kind it is, its public name, and the text, which nobody else is to see."""

    prefix: str
    name: str
    text: str

    def __repr__(self) -> str:
        """Name the key without its secret."""
        return f"KeyText({self.prefix}_{self.name}_…)"


def new_key_text(prefix: str) -> KeyText:
    """Return a new key."""
    name, secret = _drawn(NAME_LENGTH), _drawn(SECRET_LENGTH)
    body = f"{prefix}_{name}_{secret}"
    return KeyText(prefix, name, f"{body}_{check_sum(body)}")


def key_text(text: str) -> KeyText | None:
    """Return the key that a text is, None where it has another form or its check sum shows a typing slip."""
    if _WHOLE.fullmatch(text) is None:
        return None
    body, _, found = text.rpartition("_")
    if not hmac.compare_digest(found, check_sum(body)):
        return None
    kind, whose, name, _ = body.split("_")
    return KeyText(f"{kind}_{whose}", name, text)


def check_sum(body: str) -> str:
    """Return the CRC-32 of a key's text without its sum, as six characters of base 62."""
    left, found = zlib.crc32(body.encode("ascii")), ""
    for _ in range(SUM_LENGTH):
        left, digit = divmod(left, len(ALPHABET))
        found = ALPHABET[digit] + found
    return found


def without_secrets(text: str) -> str:
    """Return a text without the secret of any key in it, also of one that was cut short: for what repeats what was sent."""
    return _SECRET.sub(r"\1...", text) if "sty_" in text else text


def digest_of_key(text: str) -> str:
    """Return the digest that is kept of a key."""
    return digest_of(text.encode("ascii"))


def is_kept_as(text: str, digest: str) -> bool:
    """Return whether a key is the one of a digest, in the same time wherever they differ."""
    return hmac.compare_digest(digest_of_key(text), digest)


def _drawn(length: int) -> str:
    return "".join(secrets.choice(ALPHABET) for _ in range(length))
