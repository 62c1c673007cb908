"""Where records stand: events appended, one place after the other, for each revision of a record. Nothing is taken back.

The standing of a revision is its last event. What stands is provisional or released; superseded and void are ends.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import ColumnElement, Connection, and_, func, insert, select

from api.database import Prepared
from api.models.record import STANDING
from api.records.calibration import STANDS, Standing

_STANDING = Prepared(insert(STANDING))
_KEY = ("site", "calibration", "revision")


@dataclass(frozen=True, slots=True)
class Word:
    """By whose word records stand, when, and why."""

    by_whom: str
    moment: datetime
    because: str = ""


@dataclass(frozen=True, slots=True)
class StandsAt:
    """A revision of a record and the place of its last standing event: 0 before the first."""

    site: str
    calibration: str
    revision: int
    place: int = 0


def keep_standings(connection: Connection, events: Iterable[tuple[StandsAt, Standing, Word]]) -> int:
    """Append where revisions stand now, by whom and why, and return how many."""
    rows = [
        {
            "site": at.site, "calibration": at.calibration, "revision": at.revision, "place": at.place + 1,
            "standing": standing, "because": word.because, "by_whom": word.by_whom, "moment": word.moment.isoformat(),
        }
        for at, standing, word in events
    ]  # fmt: skip
    if rows:
        _STANDING.run(connection, rows)
    return len(rows)


def what_stands(connection: Connection, *of: ColumnElement[bool]) -> list[StandsAt]:
    """Return every revision that is provisional or released, of the records that conditions on their events choose."""
    last = (
        select(*(STANDING.c[k] for k in _KEY), func.max(STANDING.c.place).label("place"))
        .where(*of).group_by(*(STANDING.c[k] for k in _KEY)).subquery()
    )  # fmt: skip
    stood = and_(*(STANDING.c[k] == last.c[k] for k in (*_KEY, "place")))
    query = select(STANDING).join(last, stood).where(STANDING.c.standing.in_(STANDS))
    ordered = query.order_by(*(STANDING.c[k] for k in _KEY))
    return [StandsAt(row.site, row.calibration, row.revision, row.place) for row in connection.execute(ordered)]


def stands_of(connection: Connection, site: str, calibration: str) -> list[StandsAt]:
    """Return the revisions of one record that stand, the oldest first."""
    return what_stands(connection, STANDING.c.site == site, STANDING.c.calibration == calibration)
