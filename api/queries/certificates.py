"""Certificates read back as the bytes they are, each revision with what became of it since."""

from collections.abc import Sequence
from datetime import datetime
from typing import Any, Final

from sqlalchemy import Connection, Row, Select, and_, func, select

from api.database import sites_in_sight
from api.ledger.digests import spliced
from api.models.log import LOG_TOUCH, SEALED
from api.models.record import CERTIFICATE, CONTENT, JUDGEMENT, STANDING
from api.records.calibration import CertificateState, StoredCertificate
from api.records.problems import NotOnRecord

_OF_CONTENT = (("site", "site"), ("calibration", "calibration"), ("revision", "content_revision"))
# What became of a certificate follows from where the content it states stands.
STATE_OF: Final[dict[str, CertificateState]] = {
    "released": "in force", "superseded": "superseded", "void": "withdrawn",
}  # fmt: skip


def _rows() -> Select[Any]:
    touched = and_(
        LOG_TOUCH.c.kind == "certificate",
        LOG_TOUCH.c.key == CERTIFICATE.c.number,
        LOG_TOUCH.c.revision == CERTIFICATE.c.revision,
    )
    judged = and_(
        *(JUDGEMENT.c[theirs] == CERTIFICATE.c[ours] for theirs, ours in _OF_CONTENT),
        JUDGEMENT.c.number == CERTIFICATE.c.judgement,
    )
    sent = and_(*(CONTENT.c[theirs] == CERTIFICATE.c[ours] for theirs, ours in _OF_CONTENT))
    of_it = [STANDING.c[theirs] == CERTIFICATE.c[ours] for theirs, ours in _OF_CONTENT]
    events = STANDING.alias("events")
    last = select(func.max(events.c.place)).where(
        *(events.c[theirs] == CERTIFICATE.c[ours] for theirs, ours in _OF_CONTENT)
    )
    wanted = select(
        CERTIFICATE, SEALED.c.content, JUDGEMENT.c.working, STANDING.c.standing, STANDING.c.because,
        LOG_TOUCH.c.number.label("log_number"),
    )  # fmt: skip
    return (
        wanted.join(LOG_TOUCH, touched)
        .join(JUDGEMENT, judged)
        .join(CONTENT, sent)
        .join(SEALED, SEALED.c.digest == CONTENT.c.sealed)
        .join(STANDING, and_(*of_it, STANDING.c.place == last.scalar_subquery()))
    )


def certificate(connection: Connection, number: str, revision: int | None = None) -> StoredCertificate:
    """Return a certificate, the newest revision where none is asked for; refuses what was never issued (`NotOnRecord`)."""
    found = [stored for stored in revisions_of(connection, number) if revision in (None, stored.revision)]
    if not found:
        said = f"No certificate {number!r}" if revision is None else f"No revision {revision} of certificate {number!r}"
        raise NotOnRecord(f"{said} was issued.", number=number)
    return found[-1]


def revisions_of(connection: Connection, number: str) -> Sequence[StoredCertificate]:
    """Return every revision of a certificate that a connection sees, the oldest first; empty where there is none."""
    query = _rows().where(CERTIFICATE.c.number == number).order_by(CERTIFICATE.c.revision)
    sites = sites_in_sight(connection)
    if sites is not None:
        query = query.where(CERTIFICATE.c.site.in_(sites))
    return [_certificate(row) for row in connection.execute(query)]


def certificate_of(connection: Connection, site: str, calibration: str) -> StoredCertificate | None:
    """Return the newest revision of the certificate of a calibration, or None where none was issued."""
    query = _rows().where(CERTIFICATE.c.site == site, CERTIFICATE.c.calibration == calibration)
    row = connection.execute(query.order_by(CERTIFICATE.c.revision.desc()).limit(1)).one_or_none()
    return None if row is None else _certificate(row)


def every_certificate(connection: Connection) -> tuple[StoredCertificate, ...]:
    """Return every certificate ever issued, by number and revision."""
    query = _rows().order_by(CERTIFICATE.c.number, CERTIFICATE.c.revision)
    return tuple(_certificate(row) for row in connection.execute(query))


def _certificate(row: Row[Any]) -> StoredCertificate:
    return StoredCertificate(
        row.number, row.revision, row.site, row.calibration, row.device, datetime.fromisoformat(row.issued_at),
        spliced(row.head, content=row.content, judgement=row.working.encode()), row.digest, row.log_number,
        STATE_OF[row.standing], row.because,
    )  # fmt: skip
