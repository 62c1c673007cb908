"""The log read: its head, its entries in order of commit, and which entry last touched a thing."""

import json
from collections.abc import Iterator, Sequence
from datetime import UTC, datetime
from itertools import islice
from typing import Any

from sqlalchemy import Connection, Row, select

from api.database import sites_in_sight
from api.models.log import LOG_ENTRY, LOG_HEAD, LOG_TOUCH
from api.queries.register import LOG
from api.records.documents import record_from
from api.records.log import LogEntry, LogHead, LogTouch, Touched
from api.records.register import KIND_NAMED


def head(connection: Connection) -> LogHead:
    """Return the head of the log."""
    row = connection.execute(select(LOG_HEAD).where(LOG_HEAD.c.log == LOG)).one()
    return LogHead(row.number, row.hash, datetime.fromisoformat(row.moment) if row.moment else None)


def entries_after(connection: Connection, after: int, limit: int) -> Iterator[LogEntry]:
    """Give the entries after a number that a connection sees, in order of commit, without gaps where it sees all."""
    sites = sites_in_sight(connection)
    query = select(LOG_ENTRY).where(LOG_ENTRY.c.log == LOG, LOG_ENTRY.c.number > after).order_by(LOG_ENTRY.c.number)
    if sites is None:
        query = query.limit(limit)
    entries = (_entry(row) for row in connection.execute(query))
    yield from islice((e for e in entries if sites is None or entry_in_sight(e.touched, sites)), limit)


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
