"""Judgements as they are kept, and what was said beside them: links of codes, words that closed flags."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Table, select

from api.models.record import FLAG_ANSWER, JUDGEMENT, LINK


@dataclass(frozen=True, slots=True)
class CodeLinked:
    """A code of a content as it was sent, and the key that it was linked to; `number` is the judgement that followed."""

    revision: int
    kind: str
    as_sent: str
    key: str
    because: str
    number: int
    by_whom: str
    moment: datetime


def stored_working(connection: Connection, site: str, calibration: str, revision: int, number: int) -> bytes:
    """Return the working of a judgement as it is kept, byte for byte."""
    j = JUDGEMENT.c
    query = select(j.working).where(
        j.site == site, j.calibration == calibration, j.revision == revision, j.number == number
    )
    return connection.execute(query).scalar_one().encode()


def judgements_of(connection: Connection, site: str, calibration: str) -> Sequence[Any]:
    """Return the judgements of every revision of a record, in order: number, reason, when, program, verdicts."""
    j = JUDGEMENT.c
    query = select(j.revision, j.number, j.reason, j.judged_at, j.program, j.as_found, j.as_left, j.working_digest)
    of = query.where(j.site == site, j.calibration == calibration)
    return connection.execute(of.order_by(j.revision, j.number)).all()


def links_of(connection: Connection, site: str, calibration: str) -> tuple[CodeLinked, ...]:
    """Return the links of every revision of a record, in the order in which they were made."""
    rows = connection.execute(_of(LINK, site, calibration).order_by(LINK.c.revision, LINK.c.place))
    return tuple(
        CodeLinked(
            row.revision, row.kind, row.as_sent, row.key, row.because, row.number, row.by_whom,
            datetime.fromisoformat(row.moment),
        )
        for row in rows
    )  # fmt: skip


def answers_of(connection: Connection, site: str, calibration: str) -> Sequence[Any]:
    """Return the words by which flags of a record were closed, by revision, judgement and code."""
    f = FLAG_ANSWER.c
    return connection.execute(_of(FLAG_ANSWER, site, calibration).order_by(f.revision, f.number, f.code)).all()


def _of(table: Table, site: str, calibration: str) -> Any:
    return select(table).where(table.c.site == site, table.c.calibration == calibration)
