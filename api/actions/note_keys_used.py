"""Note when keys were last used: no record, written over, and too coarse to follow anybody by."""

from collections.abc import Sequence
from datetime import datetime

from sqlalchemy import Connection, insert, update

from api.models.access_key import KEY_USED


def note_keys_used(connection: Connection, names: Sequence[str], *, moment: datetime) -> None:
    """Write a moment over the one noted before, for each of some keys."""
    for name in names:
        _note(connection, name, {"used_at": moment.isoformat(timespec="minutes")})


def _note(connection: Connection, name: str, used: dict[str, str]) -> None:
    if connection.execute(update(KEY_USED).where(KEY_USED.c.name == name).values(**used)).rowcount == 0:
        connection.execute(insert(KEY_USED), {"name": name, **used})
