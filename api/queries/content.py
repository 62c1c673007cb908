"""What was sent, as bytes: for replays, conflicts and proof."""

import json
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, bindparam, func, select

from api.database import Prepared
from api.ledger.digests import digest_of
from api.models.log import SEALED
from api.models.record import ARRIVAL, CONTENT


@dataclass(frozen=True, slots=True)
class SentContent:
    """The first content kept under an id: revision, and the bytes themselves."""

    revision: int
    body: bytes


@dataclass(frozen=True, slots=True)
class RevisionSent:
    """One content of a record: its revision and bytes, what it supersedes and why, what it is about, by whom and when."""

    revision: int
    body: bytes
    device: str
    ward: str | None
    recorded_at: datetime
    recorded_by: str
    supersedes: str | None
    because: str | None

    @property
    def digest(self) -> str:
        """The digest of the bytes."""
        return digest_of(self.body)

    @property
    def content(self) -> Any:
        """The bytes as JSON."""
        return json.loads(self.body)


_SENT = Prepared(
    select(CONTENT.c.revision, SEALED.c.content)
    .join(SEALED, SEALED.c.digest == CONTENT.c.sealed)
    .where(CONTENT.c.site == bindparam("at_site"), CONTENT.c.calibration == bindparam("named"))
    .order_by(CONTENT.c.revision)
)
_ARRIVALS = Prepared(
    select(func.count())
    .select_from(ARRIVAL)
    .where(ARRIVAL.c.site == bindparam("at_site"), ARRIVAL.c.calibration == bindparam("named"))
)


def content_sent(connection: Connection, site: str, calibration: str) -> SentContent | None:
    """Return the content first sent under an id at a site, or None where none was."""
    row = _SENT.run(connection, {"at_site": site, "named": calibration}).first()
    return SentContent(row.revision, row.content) if row else None


def revisions_sent(connection: Connection, site: str, calibration: str) -> tuple[RevisionSent, ...]:
    """Return every content of a record, the oldest first."""
    query = (
        select(CONTENT, SEALED.c.content.label("body"))
        .join(SEALED, SEALED.c.digest == CONTENT.c.sealed)
        .where(CONTENT.c.site == site, CONTENT.c.calibration == calibration)
        .order_by(CONTENT.c.revision)
    )
    return tuple(
        RevisionSent(
            row.revision, bytes(row.body), row.device or row.device_as_sent, row.ward,
            datetime.fromisoformat(row.recorded_at), row.recorded_by, row.supersedes, row.amended_because,
        )
        for row in connection.execute(query)
    )  # fmt: skip


def arrivals_of(connection: Connection, site: str, calibration: str) -> int:
    """Return how often the content of an id has arrived."""
    return _ARRIVALS.run(connection, {"at_site": site, "named": calibration}).scalar() or 0
