"""The log read: its head, its entries in order of commit, and which entry last touched a thing."""

import json
from collections.abc import Iterator, Sequence
from datetime import UTC, datetime
from typing import Any, Final

from sqlalchemy import Connection, Row, func, select

from api.database import sites_in_sight
from api.models.log import LOG_ENTRY, LOG_HEAD, LOG_TOUCH
from api.queries.register import LOG
from api.records.documents import record_from
from api.records.log import Changes, LogEntry, LogHead, LogTouch, Touched
from api.records.problems import LogBehind
from api.records.register import KIND_NAMED

TOGETHER: Final = 500  # entries read at once, where not all of them may be seen
MOST_LOOKED_AT: Final = 20_000  # by one request: whoever sees few of many goes on from there


def head(connection: Connection) -> LogHead:
    """Return the head of the log."""
    row = connection.execute(select(LOG_HEAD).where(LOG_HEAD.c.log == LOG)).one()
    return LogHead(row.number, row.hash, datetime.fromisoformat(row.moment) if row.moment else None)


def changes_after(
    connection: Connection, after: int, limit: int, *, touching: str | None = None, key: str | None = None
) -> Changes:
    """Return the entries after a number that a connection sees, in order of commit, without gaps where it sees all.

    Only those that touched a kind of thing, or one thing, where that is asked. Refuses a number beyond the head: the log is
    not the one that was read before (`LogBehind`).
    """
    newest = head(connection)
    if after > newest.number:
        raise LogBehind(
            f"The log ends at entry {newest.number}; entry {after} was asked after. Begin again: after=0.",
            head=str(newest.number), after=str(after),
        )  # fmt: skip
    sites = sites_in_sight(connection)
    found: list[LogEntry] = []
    looked, ended = after, False
    while not ended and len(found) < limit and looked - after < MOST_LOOKED_AT:
        entries = _entries(connection, looked, touching, key)
        seen = [e for e in entries if sites is None or entry_in_sight(e.touched, sites)]
        found += seen[: limit - len(found)]
        ended = len(entries) < TOGETHER
        looked = found[-1].number if len(found) == limit else (newest.number if ended else entries[-1].number)
    return Changes(tuple(found), looked, newest)


def entries_after(connection: Connection, after: int, limit: int) -> Iterator[LogEntry]:
    """Give the entries after a number that a connection sees, in order of commit."""
    yield from changes_after(connection, after, limit).entries


def _entries(connection: Connection, after: int, touching: str | None, key: str | None) -> list[LogEntry]:
    query = select(LOG_ENTRY).where(LOG_ENTRY.c.log == LOG, LOG_ENTRY.c.number > after)
    if touching is not None or key is not None:
        touch = LOG_TOUCH.c
        wanted = [column == word for column, word in ((touch.kind, touching), (touch.key, key)) if word is not None]
        same = (touch.log == LOG_ENTRY.c.log, touch.number == LOG_ENTRY.c.number)
        query = query.where(select(touch.number).where(*same, *wanted).exists())
    return [_entry(row) for row in connection.execute(query.order_by(LOG_ENTRY.c.number).limit(TOGETHER))]


def _entry(row: Row[Any]) -> LogEntry:
    facts = json.loads(row.facts)
    touched = tuple(record_from(Touched, item) for item in facts["touched"])
    return LogEntry(
        row.number, row.kind, row.by_whom, datetime.fromisoformat(row.moment), touched, row.digest,
        facts["digests"], row.previous, row.hash,
    )  # fmt: skip


def entry_in_sight(touched: Sequence[Touched], sites: frozenset[str]) -> bool:
    """Return whether an entry is told to who sees some sites: it touched one of them, or what every site sees.

    What touched neither, such as a key, is told to who sees all.
    """
    return any(_told(item, sites) for item in touched)


def _told(touched: Touched, sites: frozenset[str]) -> bool:
    if touched.kind == "site":
        return touched.key in sites
    if touched.kind in (
        "calibration",
        "arrival",
        "attachment",
        "device event",
    ):  # `record_key`: the site of the visit, a stroke, the id
        return touched.key.partition("/")[0] in sites
    kind = KIND_NAMED.get(touched.kind)
    return kind is not None and (kind.site_field is None or kind.travels)


def hash_of_entry(connection: Connection, number: int) -> str:
    """Return the hash of the entry of a number."""
    query = select(LOG_ENTRY.c.hash).where(LOG_ENTRY.c.log == LOG, LOG_ENTRY.c.number == number)
    return connection.execute(query).scalar_one()


def moment_of(connection: Connection, number: int) -> datetime:
    """Return the moment of the entry of a number."""
    query = select(LOG_ENTRY.c.moment).where(LOG_ENTRY.c.log == LOG, LOG_ENTRY.c.number == number)
    return datetime.fromisoformat(connection.execute(query).scalar_one())


def newest_touch(connection: Connection, kind: str, keys: Sequence[str]) -> int:
    """Return the number of the newest entry that touched any of some things of a kind, 0 where none did."""
    touched = (LOG_TOUCH.c.kind == kind, LOG_TOUCH.c.key.in_(keys))
    return connection.scalar(select(func.max(LOG_TOUCH.c.number)).where(*touched)) or 0


def last_touch(connection: Connection, kind: str, key: str) -> LogTouch:
    """Return the entry that last touched a thing; the head's number 0 where none did."""
    query = (
        select(LOG_ENTRY.c.number, LOG_ENTRY.c.moment)
        .join(LOG_TOUCH, (LOG_TOUCH.c.log == LOG_ENTRY.c.log) & (LOG_TOUCH.c.number == LOG_ENTRY.c.number))
        .where(LOG_TOUCH.c.kind == kind, LOG_TOUCH.c.key == key)
        .order_by(LOG_ENTRY.c.number.desc())
        .limit(1)
    )
    row = connection.execute(query).one_or_none()
    return (
        LogTouch(row.number, datetime.fromisoformat(row.moment))
        if row
        else LogTouch(0, datetime.min.replace(tzinfo=UTC))
    )
