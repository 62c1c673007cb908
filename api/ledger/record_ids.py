"""Ids that follow from where a row comes from: one row of one source is one record, however often it is read."""

import hashlib
import uuid
from typing import Final

NAMESPACE: Final = uuid.UUID("1f0c5f0e-5a0a-5f5c-9d55-0c44a3b1a9e2")


def calibration_id(source: str, site: str, key: str | None, text: str, occurrence: int) -> str:
    """Return the id (UUID version 5, RFC 9562 section 5.5) of a source's row: by its own key, else by its text.

    Rows with the same text are told apart by their occurrence, from 1.
    """
    what = f"key:{key}" if key is not None else f"text:{hashlib.sha256(text.encode()).hexdigest()}"
    return str(uuid.uuid5(NAMESPACE, "\x1f".join((source, site, what, str(occurrence)))))
