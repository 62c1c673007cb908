"""Appending to the log: one entry a write, numbered at the very end, chained to the entry before."""

from dataclasses import dataclass, field
from datetime import datetime

from sqlalchemy import Connection, bindparam, insert, select, update

from api.database import Prepared
from api.ledger.chain import entry_hash
from api.ledger.digests import canonical_bytes, new_salt, salted_digest
from api.models.log import LOG_ENTRY, LOG_HEAD, LOG_TOUCH, SEALED
from api.queries.register import LOG
from api.records.documents import document_of
from api.records.log import LogHead, Touched

_SEAL = Prepared(insert(SEALED))
_THIS_LOG = LOG_HEAD.c.log == bindparam("this_log")
_LOCK_HEAD = Prepared(
    select(LOG_HEAD.c.number, LOG_HEAD.c.register_number, LOG_HEAD.c.hash).where(_THIS_LOG).with_for_update()
)
_ENTRY, _TOUCH = Prepared(insert(LOG_ENTRY)), Prepared(insert(LOG_TOUCH))
_MOVE_HEAD = Prepared(
    update(LOG_HEAD)
    .where(_THIS_LOG)
    .values({name: bindparam(f"new_{name}") for name in ("number", "register_number", "hash", "moment")})
)


@dataclass(frozen=True, slots=True)
class Draft:
    """A write as the log will hold it: kind, by whom, when, what it touched, the digest of its sealed bytes, others."""

    kind: str
    by_whom: str
    moment: datetime
    touched: tuple[Touched, ...]
    sealed: str
    digests: dict[str, str] = field(default_factory=dict)
    changes_register: bool = False


def seal(connection: Connection, content: bytes) -> str:
    """Keep bytes for good under their salted digest, and return it: contents and entries name the bytes by it."""
    salt = new_salt()
    digest = salted_digest(salt, content)
    _SEAL.run(connection, {"digest": digest, "salt": salt, "content": content})
    return digest


def hold_log(connection: Connection) -> None:
    """Let no other write be committed from here on: for small writes whose own number follows from what is on record.

    PostgreSQL; on SQLite a writer is alone from its begin.
    """
    _LOCK_HEAD.run(connection, {"this_log": LOG})


def append_to_log(connection: Connection, *drafts: Draft) -> LogHead:
    """Append the entries of this transaction as its last statements, and return the new head.

    The head's row is locked from here to the commit, so that numbers follow the order of commits without gaps.
    """
    head = _LOCK_HEAD.run(connection, {"this_log": LOG}).one()
    number, register, hashed = head.number, head.register_number, head.hash
    entries: list[dict[str, object]] = []
    touches: list[dict[str, object]] = []
    for draft in drafts:
        number += 1
        entries.append(_entry(draft, number, hashed))
        hashed = str(entries[-1]["hash"])
        touches += [_touch(number, touched) for touched in dict.fromkeys(draft.touched)]
        register = number if draft.changes_register else register
    _ENTRY.run(connection, entries)
    _TOUCH.run(connection, touches)
    moment = drafts[-1].moment
    moved = {"new_number": number, "new_register_number": register, "new_hash": hashed}
    _MOVE_HEAD.run(connection, {"this_log": LOG, **moved, "new_moment": moment.isoformat()})
    return LogHead(number, hashed, moment)


def _entry(draft: Draft, number: int, previous: str) -> dict[str, object]:
    facts = {"touched": [document_of(t) for t in draft.touched], "digests": draft.digests}
    fields = {
        "log": LOG, "number": number, "kind": draft.kind, "by_whom": draft.by_whom, "moment": draft.moment.isoformat(),
        "digest": draft.sealed, "facts": canonical_bytes(facts).decode(), "previous": previous,
    }  # fmt: skip
    return {**fields, "hash": entry_hash(fields)}


def _touch(number: int, touched: Touched) -> dict[str, object]:
    return {
        "log": LOG, "number": number, "kind": touched.kind, "key": touched.key, "revision": touched.revision,
    }  # fmt: skip
