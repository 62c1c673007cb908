"""The log read: its head, its entries in order of commit, and which entry last touched a thing."""

import json
from collections.abc import Iterator
from datetime import UTC, datetime

from sqlalchemy import Connection, select

from api.models.log import LOG_ENTRY, LOG_HEAD, LOG_TOUCH
from api.queries.register import LOG
from api.records.documents import record_from
from api.records.log import LogEntry, LogHead, LogTouch, Touched


def head(connection: Connection) -> LogHead:
    """Return the head of the log."""
    row = connection.execute(select(LOG_HEAD).where(LOG_HEAD.c.log == LOG)).one()
    return LogHead(row.number, row.hash, datetime.fromisoformat(row.moment) if row.moment else None)


def entries_after(connection: Connection, after: int, limit: int) -> Iterator[LogEntry]:
    """Give the entries after a number, in order of commit, without gaps."""
    query = (
        select(LOG_ENTRY)
        .where(LOG_ENTRY.c.log == LOG, LOG_ENTRY.c.number > after)
        .order_by(LOG_ENTRY.c.number)
        .limit(limit)
    )
    for row in connection.execute(query):
        facts = json.loads(row.facts)
        touched = tuple(record_from(Touched, item) for item in facts["touched"])
        yield LogEntry(
            row.number, row.kind, row.by_whom, datetime.fromisoformat(row.moment), touched, row.digest,
            facts["digests"], row.previous, row.hash,
        )  # fmt: skip


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
