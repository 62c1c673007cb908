"""Certificates read back as the bytes they are."""

from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Row, Select, and_, select

from api.database import sites_in_sight
from api.ledger.digests import spliced
from api.models.log import LOG_TOUCH, SEALED
from api.models.record import CERTIFICATE, CONTENT, JUDGEMENT
from api.records.calibration import StoredCertificate
from api.records.problems import NotOnRecord


def _rows() -> Select[Any]:
    touched = and_(
        LOG_TOUCH.c.kind == "certificate",
        LOG_TOUCH.c.key == CERTIFICATE.c.number,
        LOG_TOUCH.c.revision == CERTIFICATE.c.revision,
    )
    judged = and_(
        JUDGEMENT.c.site == CERTIFICATE.c.site,
        JUDGEMENT.c.calibration == CERTIFICATE.c.calibration,
        JUDGEMENT.c.revision == CERTIFICATE.c.content_revision,
        JUDGEMENT.c.number == CERTIFICATE.c.judgement,
    )
    sent = and_(
        CONTENT.c.site == CERTIFICATE.c.site,
        CONTENT.c.calibration == CERTIFICATE.c.calibration,
        CONTENT.c.revision == CERTIFICATE.c.content_revision,
    )
    wanted = select(CERTIFICATE, SEALED.c.content, JUDGEMENT.c.working, LOG_TOUCH.c.number.label("log_number"))
    return (
        wanted.join(LOG_TOUCH, touched)
        .join(JUDGEMENT, judged)
        .join(CONTENT, sent)
        .join(SEALED, SEALED.c.digest == CONTENT.c.sealed)
    )


def certificate(connection: Connection, number: str) -> StoredCertificate:
    """Return the newest revision of a certificate; refuses a number that was never issued (`NotOnRecord`)."""
    query = _rows().where(CERTIFICATE.c.number == number).order_by(CERTIFICATE.c.revision.desc()).limit(1)
    sites = sites_in_sight(connection)
    if sites is not None:
        query = query.where(CERTIFICATE.c.site.in_(sites))
    row = connection.execute(query).one_or_none()
    if row is None:
        raise NotOnRecord(f"No certificate {number!r} was issued.", number=number)
    return _certificate(row)


def every_certificate(connection: Connection) -> tuple[StoredCertificate, ...]:
    """Return every certificate ever issued, by number and revision."""
    query = _rows().order_by(CERTIFICATE.c.number, CERTIFICATE.c.revision)
    return tuple(_certificate(row) for row in connection.execute(query))


def _certificate(row: Row[Any]) -> StoredCertificate:
    return StoredCertificate(
        row.number, row.revision, row.site, row.calibration, row.device, datetime.fromisoformat(row.issued_at),
        spliced(row.head, content=row.content, judgement=row.working.encode()), row.digest, row.log_number,
    )  # fmt: skip
