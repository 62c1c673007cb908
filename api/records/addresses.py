"""How a code becomes the last part of an address on the published site: lower case letters, digits and hyphens only.

Labels carry these addresses for good, so the folding never changes. That two codes do not fold to the same address is
watched where a thing is registered, not here.
"""

import re
import unicodedata
from typing import ClassVar, Final

from api.metrology.refusals import Refusal

LONGEST: Final = 40
_OTHERS: Final = re.compile(r"[^a-z0-9]+", re.ASCII)


class NoAddress(Refusal):
    """A code without one letter or digit of the plain alphabet, so that nothing is left to point at."""

    code: ClassVar[str] = "no-address"


def folded(text: str) -> str:
    """Return a code as it stands in an address: `[a-z0-9-]`, one to forty characters.

    Accents are dropped, anything else becomes one hyphen. Refuses a text that leaves nothing, or more than forty
    characters (`NoAddress`): a shortened address could be another's.

    >>> folded("QG-2026/0012 ")
    'qg-2026-0012'
    >>> folded("Écho 7")
    'echo-7'
    """
    plain = unicodedata.normalize("NFKD", text)
    plain = "".join(letter for letter in plain if not unicodedata.combining(letter)).lower()
    address = _OTHERS.sub("-", plain).strip("-")
    if len(address) > LONGEST:
        raise NoAddress(
            f"{text[:64]!r} makes an address of {len(address)} characters; at most {LONGEST}.", found=text[:64]
        )
    if not address:
        raise NoAddress(
            f"{text[:64]!r} leaves nothing to make an address from; use letters a to z or digits.", found=text[:64]
        )
    return address
