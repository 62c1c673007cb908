"""The rows that a record's life is told from: arrivals, standing events, remarks, and its entries of the log."""

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Table, and_, select

from api.models.log import LOG_ENTRY, LOG_TOUCH
from api.models.record import ARRIVAL, CERTIFICATE, REMARK, STANDING
from api.queries.calibrations import record_key
from api.records.life import LogLine


def arrivals(connection: Connection, site: str, calibration: str) -> Sequence[Any]:
    """Return every arrival of a record, in order."""
    return _rows(connection, ARRIVAL, site, calibration, "place")


def standing_events(connection: Connection, site: str, calibration: str) -> Sequence[Any]:
    """Return every standing event of a record, revision by revision, in order."""
    return _rows(connection, STANDING, site, calibration, "revision", "place")


def remarks(connection: Connection, site: str, calibration: str) -> Sequence[Any]:
    """Return every remark on a record, in order."""
    return _rows(connection, REMARK, site, calibration, "revision", "place")


def certificates_issued(connection: Connection, site: str, calibration: str) -> Sequence[Any]:
    """Return every certificate revision that was issued for a record, in order."""
    return _rows(connection, CERTIFICATE, site, calibration, "revision")


def _rows(connection: Connection, table: Table, site: str, calibration: str, *order: str) -> Sequence[Any]:
    of = select(table).where(table.c.site == site, table.c.calibration == calibration)
    return connection.execute(of.order_by(*(table.c[name] for name in order))).all()


def log_lines(connection: Connection, site: str, calibration: str) -> tuple[LogLine, ...]:
    """Return the entries of the log that touched a record or one of its arrivals, in order."""
    e, t = LOG_ENTRY.c, LOG_TOUCH.c
    query = (
        select(e.number, e.kind, e.by_whom, e.moment).distinct()
        .join(LOG_TOUCH, and_(t.log == e.log, t.number == e.number))
        .where(t.kind.in_(("calibration", "arrival")), t.key == record_key(site, calibration)).order_by(e.number)
    )  # fmt: skip
    found = connection.execute(query)
    return tuple(LogLine(row.number, row.kind, row.by_whom, datetime.fromisoformat(row.moment)) for row in found)
