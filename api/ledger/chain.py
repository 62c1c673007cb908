"""The chain: each log entry is hashed together with the hash of the one before, so that none can change unseen."""

from collections.abc import Iterable, Mapping
from typing import Any

from api.ledger.digests import canonical_bytes, digest_of

START = "sha256:" + "0" * 64


def entry_hash(entry: Mapping[str, Any]) -> str:
    """Return the hash of an entry's fields, `previous` among them."""
    return digest_of(canonical_bytes(entry))


def first_break(entries: Iterable[tuple[Mapping[str, Any], str]]) -> int | None:
    """Return the number of the first entry whose hash, place or link is wrong, or None where the chain holds.

    Entries come as (fields, stored hash) in order of their numbers, from 1.
    """
    previous = START
    for place, (fields, stored) in enumerate(entries, start=1):
        if fields["number"] != place or fields["previous"] != previous or entry_hash(fields) != stored:
            return place
        previous = stored
    return None
