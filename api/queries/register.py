"""The register read both ways in time: in force on a day, as known at log entry N.

Revisions never change, so a chain that was read is kept in the process until the register's last entry moves. What a
connection has not in sight is, in force or listed, as if it were not there; chains are whole, because what is to be put
on the register has to fit all of it.
"""

import json
from collections import defaultdict
from collections.abc import Callable, Hashable, Iterable, Sequence
from datetime import date, datetime
from typing import Any, TypeVar
from weakref import WeakKeyDictionary

from sqlalchemy import Connection, Pool, Row, and_, bindparam, select

from api.database import Prepared, sites_in_sight
from api.models.log import LOG_HEAD, LOG_TOUCH
from api.models.register import CERTIFIED_PIECE, REVISIONS
from api.records.documents import record_from
from api.records.problems import NotOnRecord
from api.records.register import KIND_NAMED, Revision

LOG = "network"
MOST_DERIVED = 50_000
T = TypeVar("T")
Chain = tuple[Revision[Any], ...]


class _Kept:
    """The chains read so far at one state of the register, and the kinds that were read whole."""

    def __init__(self, number: int) -> None:
        self.number = number
        self.chains: dict[tuple[str, str], Chain] = {}
        self.whole: dict[str, tuple[str, ...]] = {}
        self.certified: dict[str, tuple[str, ...]] = {}
        self.derived: dict[Any, Any] = {}


class _NotYet:
    """What stands for an answer that was not worked out yet: None is an answer."""


_NOT_YET = _NotYet()
_REGISTER_NUMBER = Prepared(select(LOG_HEAD.c.register_number).where(LOG_HEAD.c.log == bindparam("this_log")))
_KEPT: WeakKeyDictionary[Pool, _Kept] = WeakKeyDictionary()


def _kept(connection: Connection) -> _Kept:
    """What is kept for this connection's state of the register; asked once a transaction."""
    known: _Kept | None = connection.info.get("register")
    if known is not None and connection.info.get("register_in") is connection.get_transaction():
        return known
    number = _REGISTER_NUMBER.run(connection, {"this_log": LOG}).scalar() or 0
    pool = connection.engine.pool
    known = _KEPT.get(pool)
    if known is None or known.number != number:
        known = _KEPT[pool] = _Kept(number)
    connection.info["register"], connection.info["register_in"] = known, connection.get_transaction()
    return known


def register_number(connection: Connection) -> int:
    """Return the log number of the last change of the register, as this transaction sees it."""
    return _kept(connection).number


def forget_register(connection: Connection) -> None:
    """Forget what this transaction read: it has just changed the register itself.

    What it reads from here on is its own: it may yet be rolled back, and nobody else may see it before.
    """
    connection.info["register"], connection.info["register_in"] = _Kept(-1), connection.get_transaction()


def chains_of(connection: Connection, kind: str, keys: Iterable[str]) -> dict[str, Chain]:
    """Return the chains of revisions of several entities of one kind, oldest first; empty for what is not there."""
    kept = _kept(connection)
    asked = list(dict.fromkeys(keys))
    missing = [key for key in asked if (kind, key) not in kept.chains]
    if missing and kind not in kept.whole:
        _read_chains(connection, kept, kind, missing)
    return {key: kept.chains.get((kind, key), ()) for key in asked}


def chain_of(connection: Connection, kind: str, key: str) -> Chain:
    """Return the chain of revisions of one entity, oldest first."""
    return chains_of(connection, kind, (key,))[key]


def _read_chains(connection: Connection, kept: _Kept, kind: str, keys: Sequence[str] | None) -> None:
    table = REVISIONS[kind]
    touch = and_(LOG_TOUCH.c.kind == kind, LOG_TOUCH.c.key == table.c.key, LOG_TOUCH.c.revision == table.c.revision)
    query = select(table, LOG_TOUCH.c.number).join(LOG_TOUCH, touch).order_by(table.c.key, table.c.revision)
    if keys is not None:
        query = query.where(table.c.key.in_(keys))
    found: dict[str, list[Revision[Any]]] = defaultdict(list)
    for row in connection.execute(query):
        found[row.key].append(_revision(kind, row))
    # Only now, and at once: another thread may look while this one reads.
    kept.chains.update({(kind, key): tuple(found.get(key, ())) for key in keys or found})
    if keys is None:
        kept.whole[kind] = tuple(sorted(found))


def _revision(kind: str, row: Row[Any]) -> Revision[Any]:
    record = record_from(KIND_NAMED[kind].record, json.loads(row.document))
    return Revision(
        kind, row.key, row.revision, date.fromisoformat(row.valid_from), datetime.fromisoformat(row.recorded_at),
        row.recorded_by, row.number, record,
    )  # fmt: skip


def standing_on(chain: Chain, on: date, known_at: int | None = None) -> Revision[Any] | None:
    """Return the revision in force on a day, as known at log entry N: the latest day that has come, then the latest."""
    known = (r for r in chain if r.valid_from <= on and (known_at is None or r.log_number <= known_at))
    return max(known, key=lambda r: (r.valid_from, r.number), default=None)


def find_in_force(
    connection: Connection, kind: str, key: str, *, on: date, known_at: int | None = None
) -> Revision[Any] | None:
    """Return the revision of an entity in force on a day, or None where there is none."""
    if known_at is not None:
        found = standing_on(chain_of(connection, kind, key), on, known_at)
    else:
        asked = ("standing", kind, key, on)
        found = derived(connection, asked, lambda: standing_on(chain_of(connection, kind, key), on))
    return found if found is None or in_sight(connection, found) else None


def in_sight(connection: Connection, revision: Revision[Any]) -> bool:
    """Return whether a connection sees a revision: it belongs to a site that it sees, or to the whole network."""
    sites = sites_in_sight(connection)
    if sites is None:
        return True
    seen_at = KIND_NAMED[revision.kind].seen_at(revision.record)
    return seen_at is None or seen_at in sites


def revisions_in_sight(connection: Connection, kind: str, key: str) -> Chain:
    """Return those revisions of an entity that a connection sees, oldest first."""
    return tuple(revision for revision in chain_of(connection, kind, key) if in_sight(connection, revision))


def derived(connection: Connection, asked: Hashable, work_out: Callable[[], T]) -> T:
    """Return what follows from the register alone, worked out once for as long as the register stays as it is.

    `asked` names it, with everything it depends on beside the register. It may not depend on what is in sight.
    """
    known = _kept(connection).derived
    found: T | _NotYet = known.get(asked, _NOT_YET)  # one look: another thread may clear it between two
    if isinstance(found, _NotYet):
        found = work_out()
        if len(known) >= MOST_DERIVED:
            known.clear()
        known[asked] = found
    return found


def in_force(connection: Connection, kind: str, key: str, *, on: date, known_at: int | None = None) -> Revision[Any]:
    """Return the revision of an entity in force on a day; refuses what is not on the register then (`NotOnRecord`)."""
    found = find_in_force(connection, kind, key, on=on, known_at=known_at)
    if found is None:
        known = "" if known_at is None else f", as known at log entry {known_at}"
        raise NotOnRecord(f"No {kind} {key!r} is on the register on {on.isoformat()}{known}.", kind=kind, key=key)
    return found


def all_in_force(connection: Connection, kind: str, *, on: date, known_at: int | None = None) -> list[Revision[Any]]:
    """Return every entity of a kind that is in force on a day, by key."""
    standing = (standing_on(chain, on, known_at) for chain in all_chains(connection, kind))
    return [revision for revision in standing if revision is not None and in_sight(connection, revision)]


def all_chains(connection: Connection, kind: str) -> list[Chain]:
    """Return the chain of revisions of every entity of a kind, by key."""
    kept = _kept(connection)
    if kind not in kept.whole:
        _read_chains(connection, kept, kind, None)
    return [kept.chains[kind, key] for key in kept.whole[kind]]


def certificates_of(connection: Connection, pieces: Sequence[str]) -> dict[str, tuple[str, ...]]:
    """Return for each piece the numbers of the weight certificates that speak for it, on whatever days."""
    kept = _kept(connection)
    missing = [piece for piece in pieces if piece not in kept.certified]
    if missing:
        found: dict[str, list[str]] = {piece: [] for piece in missing}
        query = select(CERTIFIED_PIECE.c.piece, CERTIFIED_PIECE.c.number).where(CERTIFIED_PIECE.c.piece.in_(missing))
        for piece, number in connection.execute(query.distinct().order_by(CERTIFIED_PIECE.c.number)):
            found[piece].append(number)
        kept.certified.update({piece: tuple(numbers) for piece, numbers in found.items()})
    return {piece: kept.certified[piece] for piece in pieces}
