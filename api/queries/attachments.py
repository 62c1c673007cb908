"""Attachments read back: one by its digest, those that contents name, and the records that name one."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Row, Select, and_, select

from api.database import sites_in_sight
from api.models.attachment import ATTACHMENT, ATTACHMENT_NAMED
from api.models.log import LOG_TOUCH, SEALED
from api.models.record import CONTENT
from api.records.attachment import Attachment, AttachmentOfVisit, named_in
from api.records.problems import NotOnRecord

A, N = ATTACHMENT.c, ATTACHMENT_NAMED.c
TOUCHED = "attachment"


@dataclass(frozen=True, slots=True)
class KeptAttachment:
    """An attachment with its bytes and the log entry that holds it."""

    told: Attachment
    content: bytes
    log_number: int


@dataclass(frozen=True, slots=True)
class NamedBy:
    """A content that names an attachment, and what shows it."""

    calibration: str
    device: str
    ward: str | None


def attachment_key(site: str, digest: str) -> str:
    """Return the key under which the log knows an attachment."""
    return f"{site}/{digest}"


def find_attachment(connection: Connection, digest: str, site: str) -> KeptAttachment | None:
    """Return the attachment of a digest at a site, or None where none has arrived."""
    row = connection.execute(_rows().where(A.site == site, A.digest == digest)).first()
    return None if row is None else _kept(row)


def attachment(connection: Connection, digest: str, site: str | None = None) -> KeptAttachment:
    """Return an attachment that a connection sees; refuses what has not arrived (`NotOnRecord`).

    Several sites may have it: the bytes are the same, so that any of them answers.
    """
    query = _rows().where(A.digest == digest).order_by(A.site).limit(1)
    sites = sites_in_sight(connection)
    if sites is not None:
        query = query.where(A.site.in_(sites))
    row = connection.execute(query if site is None else query.where(A.site == site)).first()
    if row is None:
        raise NotOnRecord("No attachment of this digest has arrived.", digest=digest)
    return _kept(row)


def _rows() -> Select[Any]:
    logged = and_(LOG_TOUCH.c.kind == TOUCHED, LOG_TOUCH.c.key == A.site + "/" + A.digest)
    return (
        select(ATTACHMENT, SEALED.c.content, LOG_TOUCH.c.number)
        .join(SEALED, SEALED.c.digest == A.sealed)
        .join(LOG_TOUCH, logged)
        .order_by(LOG_TOUCH.c.number)
    )


def _kept(row: Row[Any]) -> KeptAttachment:
    if row.content is None:
        raise NotOnRecord("It was taken off the record by a redaction.", digest=row.digest)
    return KeptAttachment(_told(row), row.content, row.number)


def _told(row: Row[Any]) -> Attachment:
    return Attachment(row.digest, row.site, row.media_type, row.size, datetime.fromisoformat(row.received_at))


def named_by(connection: Connection, digest: str, site: str) -> tuple[NamedBy, ...]:
    """Return the contents at a site that name an attachment, each with its device and ward, by id."""
    same = and_(*(CONTENT.c[key] == N[key] for key in ("site", "calibration", "revision")))
    query = (
        select(N.calibration, CONTENT.c.device_as_sent, CONTENT.c.ward).distinct()
        .select_from(ATTACHMENT_NAMED).join(CONTENT, same)
        .where(N.site == site, N.digest == digest).order_by(N.calibration, CONTENT.c.device_as_sent)
    )  # fmt: skip
    return tuple(NamedBy(row.calibration, row.device_as_sent, row.ward) for row in connection.execute(query))


def attachments_named(
    connection: Connection, contents: Iterable[tuple[str, Any]]
) -> list[tuple[AttachmentOfVisit, ...]]:
    """Return for each content, given with its site, what it names, with what has arrived of it at that site."""
    named = [(site, named_in(content)) for site, content in contents]
    arrived = _arrived(connection, named)
    return [tuple(_with(one, arrived.get((site, one.digest))) for one in listed) for site, listed in named]


def _arrived(
    connection: Connection, named: Sequence[tuple[str, list[AttachmentOfVisit]]]
) -> dict[tuple[str, str], Attachment]:
    digests = {one.digest for _, listed in named for one in listed}
    if not digests:
        return {}
    sites = {site for site, listed in named if listed}
    found = connection.execute(select(ATTACHMENT).where(A.site.in_(sites), A.digest.in_(digests)))
    return {(row.site, row.digest): _told(row) for row in found}


def _with(named: AttachmentOfVisit, kept: Attachment | None) -> AttachmentOfVisit:
    if kept is None:
        return named
    return replace(named, media_type=kept.media_type, size=kept.size, received_at=kept.received_at)
