"""Submissions in newer schemas read back. One that was taken up has a content of its own, and waits no more."""

from datetime import datetime

from sqlalchemy import Connection, Row, Select, and_, exists, select

from api.database import sites_in_sight
from api.ledger.digests import digest_of
from api.models.log import LOG_TOUCH, SEALED
from api.models.quarantine import QUARANTINE
from api.models.record import CONTENT
from api.queries.paging import rows_listed
from api.records.listing import Listed, Part
from api.records.quarantine import Quarantined, QuarantinedArrival

Q = QUARANTINE.c
TOUCHED = "quarantine"


def _rows() -> Select[tuple[object, ...]]:
    logged = and_(LOG_TOUCH.c.kind == TOUCHED, LOG_TOUCH.c.key == Q.site + "/" + Q.calibration)
    return (
        select(QUARANTINE, SEALED.c.content, LOG_TOUCH.c.number)
        .join(SEALED, SEALED.c.digest == Q.sealed)
        .join(LOG_TOUCH, logged)
    )


def _waiting() -> Select[tuple[object, ...]]:
    taken_up = exists().where(CONTENT.c.site == Q.site, CONTENT.c.calibration == Q.calibration)
    return _rows().where(~taken_up)


def waiting_in_quarantine(connection: Connection) -> tuple[QuarantinedArrival, ...]:
    """Return what waits, in the order in which it arrived."""
    return tuple(_arrival(row) for row in connection.execute(_waiting().order_by(LOG_TOUCH.c.number)))


def quarantine_listed(
    connection: Connection, part: Part, *, site: str | None = None, schema: str | None = None
) -> Listed[Quarantined]:
    """Return a part of what waits and is in sight, in the order in which it arrived; of a site or schema where asked."""
    query, sites = _waiting(), sites_in_sight(connection)
    if sites is not None:
        query = query.where(Q.site.in_(sites))
    for column, wanted in ((Q.site, site), (Q.schema, schema)):
        query = query if wanted is None else query.where(column == wanted)
    return rows_listed(connection, query, (LOG_TOUCH.c.number,), part).of(lambda row: _arrival(row).told)


def find_in_quarantine(connection: Connection, site: str, calibration: str) -> QuarantinedArrival | None:
    """Return what was kept under an id at a site, taken up or not, or None."""
    row = connection.execute(_rows().where(Q.site == site, Q.calibration == calibration)).first()
    return None if row is None else _arrival(row)


def in_quarantine(connection: Connection, calibration: str) -> tuple[QuarantinedArrival, ...]:
    """Return what was kept under an id, one for each site."""
    query = _rows().where(Q.calibration == calibration).order_by(LOG_TOUCH.c.number)
    return tuple(_arrival(row) for row in connection.execute(query))


def _arrival(row: Row[tuple[object, ...]]) -> QuarantinedArrival:
    told = Quarantined(
        row.calibration, row.site, row.schema, row.device_as_sent, datetime.fromisoformat(row.received_at),
        row.received_by, digest_of(row.content), row.number,
    )  # fmt: skip
    sent_at = datetime.fromisoformat(row.sent_at) if row.sent_at else None
    return QuarantinedArrival(told, row.content, sent_at, tuple(filter(None, row.unread.split(","))))
