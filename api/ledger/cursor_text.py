"""Cursors of lists: a place in a list as text that only this service can make, and only for the list it was made for.

The text is base64url of a seal and the place. The seal (HMAC-SHA-256, its first 16 bytes) covers which list it is, so that a
cursor of another list, of other filters, or written by somebody else is no cursor.
"""

import binascii
import hashlib
import hmac
from base64 import urlsafe_b64decode, urlsafe_b64encode
from typing import Final

SEAL_BYTES: Final = 16
_WHAT: Final = b"steelyard/cursor/1\n"


def cursor_text(secret: bytes, of_list: str, place: bytes) -> str:
    """Return a place in a list as the text of a cursor."""
    return urlsafe_b64encode(_seal(secret, of_list, place) + place).decode("ascii").rstrip("=")


def place_of(secret: bytes, of_list: str, text: str) -> bytes | None:
    """Return the place that a cursor names, None where it is no cursor of this list."""
    try:
        whole = urlsafe_b64decode(text + "=" * (-len(text) % 4))
    except (ValueError, binascii.Error):
        return None
    seal, place = whole[:SEAL_BYTES], whole[SEAL_BYTES:]
    if not hmac.compare_digest(seal, _seal(secret, of_list, place)):
        return None
    # One spelling only: base64 readers pass over strange characters and spare bits.
    return place if cursor_text(secret, of_list, place) == text else None


def _seal(secret: bytes, of_list: str, place: bytes) -> bytes:
    return hmac.digest(secret, _WHAT + of_list.encode() + b"\n" + place, hashlib.sha256)[:SEAL_BYTES]
