"""What was sent, as bytes: for replays, conflicts and proof."""

from dataclasses import dataclass

from sqlalchemy import Connection, bindparam, func, select

from api.database import Prepared
from api.models.log import SEALED
from api.models.record import ARRIVAL, CONTENT


@dataclass(frozen=True, slots=True)
class SentContent:
    """The first content kept under an id: revision, and the bytes themselves."""

    revision: int
    body: bytes


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


def arrivals_of(connection: Connection, site: str, calibration: str) -> int:
    """Return how often the content of an id has arrived."""
    return _ARRIVALS.run(connection, {"at_site": site, "named": calibration}).scalar() or 0
