"""Submissions in newer schemas read back. One that was taken up has a content of its own, and waits no more."""

from datetime import datetime

from sqlalchemy import Connection, Row, Select, and_, exists, select

from api.ledger.digests import digest_of
from api.models.log import LOG_TOUCH, SEALED
from api.models.quarantine import QUARANTINE
from api.models.record import CONTENT
from api.records.quarantine import Quarantined, QuarantinedArrival

Q = QUARANTINE.c
TOUCHED = "quarantine"


def _rows() -> Select[tuple[object, ...]]:
    logged = and_(LOG_TOUCH.c.kind == TOUCHED, LOG_TOUCH.c.key == Q.site + "/" + Q.calibration)
    return (
        select(QUARANTINE, SEALED.c.content, LOG_TOUCH.c.number)
        .join(SEALED, SEALED.c.digest == Q.sealed)
        .join(LOG_TOUCH, logged)
        .order_by(LOG_TOUCH.c.number)
    )


def waiting_in_quarantine(connection: Connection) -> tuple[QuarantinedArrival, ...]:
    """Return what waits, in the order in which it arrived."""
    taken_up = exists().where(CONTENT.c.site == Q.site, CONTENT.c.calibration == Q.calibration)
    return tuple(_arrival(row) for row in connection.execute(_rows().where(~taken_up)))


def find_in_quarantine(connection: Connection, site: str, calibration: str) -> QuarantinedArrival | None:
    """Return what was kept under an id at a site, taken up or not, or None."""
    row = connection.execute(_rows().where(Q.site == site, Q.calibration == calibration)).first()
    return None if row is None else _arrival(row)


def in_quarantine(connection: Connection, calibration: str) -> tuple[QuarantinedArrival, ...]:
    """Return what was kept under an id, one for each site."""
    return tuple(_arrival(row) for row in connection.execute(_rows().where(Q.calibration == calibration)))


def _arrival(row: Row[tuple[object, ...]]) -> QuarantinedArrival:
    told = Quarantined(
        row.calibration, row.site, row.schema, row.device_as_sent, datetime.fromisoformat(row.received_at),
        row.received_by, digest_of(row.content), row.number,
    )  # fmt: skip
    sent_at = datetime.fromisoformat(row.sent_at) if row.sent_at else None
    return QuarantinedArrival(told, row.content, sent_at, tuple(filter(None, row.unread.split(","))))
