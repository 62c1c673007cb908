"""Keys read: by name for the door, remembered in the process until the log says that a key was made or revoked; listed.

What was read of a key holds for as long as the number of the last entry that touched any key stays the same. A key that
another process revoked is refused from the very next request on.
"""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final
from weakref import WeakKeyDictionary

from sqlalchemy import Connection, Engine, Pool, Row, Select, func, select

from api.database import one_number, reading, sites_in_sight
from api.models.access_key import ACCESS_KEY, KEY_REVOKED, KEY_USED
from api.models.log import LOG_TOUCH
from api.queries.register import LOG
from api.records.access_key import AccessKey, HeldBy
from api.records.log import Touched
from api.records.problems import NotOnRecord

# Touched by every entry that makes or revokes a key.
ALL_KEYS: Final = Touched("access keys", "all")
MOST_REMEMBERED: Final = 10_000
_LAST_CHANGE = select(func.max(LOG_TOUCH.c.number)).where(
    LOG_TOUCH.c.log == LOG, LOG_TOUCH.c.kind == ALL_KEYS.kind, LOG_TOUCH.c.key == ALL_KEYS.key
)


@dataclass(frozen=True, slots=True)
class KeyOnRecord:
    """A key with the digest of its text."""

    key: AccessKey
    digest: str


class _Remembered:
    """The keys read so far, at one number of the log."""

    def __init__(self, number: int) -> None:
        self.number = number
        self.keys: dict[str, KeyOnRecord | None] = {}


_MEMORY: WeakKeyDictionary[Pool, _Remembered] = WeakKeyDictionary()
_ASKED: dict[str, str] = {}


def key_on_record(engine: Engine, name: str) -> KeyOnRecord | None:
    """Return a key by its public name, None where there is none; as it is on record at this moment."""
    number = one_number(
        engine, _last_change(engine)
    )  # before the key is read: what is read is not older than its number
    known = _MEMORY.get(engine.pool)
    if known is None or known.number != number or len(known.keys) >= MOST_REMEMBERED:
        known = _MEMORY[engine.pool] = _Remembered(number)
    if name not in known.keys:
        with reading(engine) as connection:
            row = connection.execute(_rows().where(ACCESS_KEY.c.name == name)).one_or_none()
        known.keys[name] = KeyOnRecord(_key(row), row.digest) if row else None
    return known.keys[name]


def _last_change(engine: Engine) -> str:
    dialect = engine.dialect
    if dialect.name not in _ASKED:
        _ASKED[dialect.name] = str(_LAST_CHANGE.compile(dialect=dialect, compile_kwargs={"literal_binds": True}))
    return _ASKED[dialect.name]


def access_key(connection: Connection, name: str) -> AccessKey:
    """Return a key by its name; refuses one that is not there, or for more than what is in sight (`NotOnRecord`)."""
    row = connection.execute(_rows().where(ACCESS_KEY.c.name == name)).one_or_none()
    found = _key(row) if row else None
    if found is None or not found.is_within(sites_in_sight(connection)):
        raise NotOnRecord(f"No key {name!r} was made.", key=name)
    return found


def every_key(connection: Connection) -> tuple[AccessKey, ...]:
    """Return every key in sight, by holder and then by when it was made."""
    query = _rows().order_by(ACCESS_KEY.c.held_by, ACCESS_KEY.c.holder, ACCESS_KEY.c.made_at, ACCESS_KEY.c.name)
    sites = sites_in_sight(connection)
    return tuple(key for key in _keys(connection, query) if key.is_within(sites))


def keys_of(connection: Connection, held_by: HeldBy, holder: str) -> tuple[AccessKey, ...]:
    """Return every key that a holder was ever given, in sight or not."""
    query = _rows().where(ACCESS_KEY.c.held_by == held_by, ACCESS_KEY.c.holder == holder)
    return _keys(connection, query.order_by(ACCESS_KEY.c.made_at, ACCESS_KEY.c.name))


def _rows() -> Select[Any]:
    return (
        select(
            ACCESS_KEY, KEY_REVOKED.c.revoked_at, KEY_REVOKED.c.revoked_by, KEY_REVOKED.c.because, KEY_USED.c.used_at
        )
        .outerjoin(KEY_REVOKED, KEY_REVOKED.c.name == ACCESS_KEY.c.name)
        .outerjoin(KEY_USED, KEY_USED.c.name == ACCESS_KEY.c.name)
    )


def _keys(connection: Connection, query: Select[Any]) -> tuple[AccessKey, ...]:
    return tuple(_key(row) for row in connection.execute(query))


def _key(row: Row[Any]) -> AccessKey:
    return AccessKey(
        name=row.name,
        held_by=row.held_by,
        holder=row.holder,
        scopes=_listed(row.scopes),
        sites=_listed(row.sites) if row.sites else None,
        made_at=datetime.fromisoformat(row.made_at),
        made_by=row.made_by,
        expires_at=datetime.fromisoformat(row.expires_at),
        revoked_at=_moment(row.revoked_at),
        revoked_by=row.revoked_by,
        revoked_because=row.because,
        used_at=_moment(row.used_at),
    )


def _listed(text: str) -> Any:
    found: Sequence[str] = json.loads(text)
    return tuple(found)


def _moment(text: str | None) -> datetime | None:
    return datetime.fromisoformat(text) if text else None
