"""Revoke a key: it is refused from the next request on, by every process of the service."""

from datetime import datetime

from sqlalchemy import Connection, insert

from api.keeping.log import Draft, append_to_log, hold_log, seal
from api.ledger.digests import canonical_bytes
from api.models.access_key import KEY_REVOKED
from api.queries.access_keys import ALL_KEYS, access_key
from api.records.access_key import AccessKey
from api.records.log import Touched


def revoke_key(
    connection: Connection, name: str, because: str, *, by_whom: str, moment: datetime
) -> tuple[AccessKey, bool]:
    """Return the key, and whether it was revoked now: a key that was revoked before stays as it was revoked.

    Refuses a key that is not there, or is for more than what is in sight (`NotOnRecord`).
    """
    hold_log(connection)
    known = access_key(connection, name)
    if known.revoked_at is not None:
        return known, False
    revoked = {"name": name, "revoked_at": moment.isoformat(), "revoked_by": by_whom, "because": because}
    connection.execute(insert(KEY_REVOKED), revoked)
    touched = (ALL_KEYS, Touched("access key", name), Touched(known.held_by, known.holder))
    append_to_log(
        connection, Draft("key revoked", by_whom, moment, touched, seal(connection, canonical_bytes(revoked)))
    )
    return access_key(connection, name), True
