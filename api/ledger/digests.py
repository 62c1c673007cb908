"""Canonical bytes and digests: what is hashed, and how."""

import hashlib
import secrets
from typing import Any

import orjson

SALT_BYTES = 16


def canonical_bytes(document: Any) -> bytes:
    """Return the one spelling of a JSON document that is stored and hashed: sorted keys, no spaces, UTF-8."""
    return orjson.dumps(document, option=orjson.OPT_SORT_KEYS)


def stored_bytes(document: Any) -> bytes:
    """Return a JSON document as bytes in the order it was made in: for documents whose bytes are kept as they are."""
    return orjson.dumps(document)


def spliced(head: bytes, **parts: bytes) -> bytes:
    """Return a JSON object with more members, whose JSON texts are kept elsewhere: one truth, stored once."""
    return b"".join([head[:-1], *(b',"%b":%b' % (name.encode(), part) for name, part in parts.items()), b"}"])


def digest_of(content: bytes) -> str:
    """Return the SHA-256 digest of bytes, as `sha256:` and 64 hexadecimal digits."""
    return f"sha256:{hashlib.sha256(content).hexdigest()}"


def new_salt() -> bytes:
    """Return fresh salt. With it, a digest does not give away short content after the bytes were redacted."""
    return secrets.token_bytes(SALT_BYTES)


def salted_digest(salt: bytes, content: bytes) -> str:
    """Return the digest of salt followed by content."""
    return digest_of(salt + content)
