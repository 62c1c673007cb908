"""Where imported records stand: like any other, what has no flag is released; no certificate is ever issued for them."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, and_, func, insert, select, tuple_

from api.database import Prepared
from api.models.file_import import IMPORTED
from api.models.record import CONTENT, FLAG, STANDING
from api.records.log import Touched

RELEASED = "imported from old records; nothing is flagged; no certificate is issued for imported records"
_STANDING = Prepared(insert(STANDING))
_PAGE = 500


@dataclass(frozen=True, slots=True)
class Word:
    """By whose word records stand, when, and why."""

    by_whom: str
    moment: datetime
    because: str = ""


def stand_imported(connection: Connection, file_import: str, word: Word) -> int:
    """Give their standing to the records of an import that have none yet, and return how many there were.

    Until then nobody sees them: an import of the whole file or nothing stands all at once.
    """
    waiting = _without_standing(connection, file_import)
    flagged = _flag_codes(connection, waiting)
    rows = []
    for site, calibration in waiting:
        codes = flagged.get((site, calibration))
        standing, because = ("provisional", f"flagged: {', '.join(codes)}") if codes else ("released", RELEASED)
        rows.append(_event(site, calibration, 1, standing, because, word))
    if rows:
        _STANDING.run(connection, rows)
    return len(rows)


def void_imported(connection: Connection, file_import: str, word: Word) -> int:
    """Make every record of an import void that is not yet, and return how many there were. Nothing is deleted."""
    last = (
        select(STANDING.c.site, STANDING.c.calibration, func.max(STANDING.c.place).label("place"))
        .where(STANDING.c.revision == 1).group_by(STANDING.c.site, STANDING.c.calibration).subquery()
    )  # fmt: skip
    stood = and_(
        STANDING.c.site == last.c.site, STANDING.c.calibration == last.c.calibration, STANDING.c.revision == 1,
        STANDING.c.place == last.c.place,
    )  # fmt: skip
    query = (
        select(IMPORTED.c.site, IMPORTED.c.calibration, STANDING.c.place, STANDING.c.standing)
        .outerjoin(last, and_(last.c.site == IMPORTED.c.site, last.c.calibration == IMPORTED.c.calibration))
        .outerjoin(STANDING, stood).where(IMPORTED.c.file_import == file_import).order_by(IMPORTED.c.line)
    )  # fmt: skip
    rows = [
        _event(row.site, row.calibration, (row.place or 0) + 1, "void", word.because, word)
        for row in connection.execute(query)
        if row.standing != "void"
    ]
    if rows:
        _STANDING.run(connection, rows)
    return len(rows)


def _event(site: str, calibration: str, place: int, standing: str, because: str, word: Word) -> dict[str, object]:
    return {
        "site": site, "calibration": calibration, "revision": 1, "place": place, "standing": standing,
        "because": because, "by_whom": word.by_whom, "moment": word.moment.isoformat(),
    }  # fmt: skip


def _without_standing(connection: Connection, file_import: str) -> list[tuple[str, str]]:
    same = and_(STANDING.c.site == IMPORTED.c.site, STANDING.c.calibration == IMPORTED.c.calibration)
    query = (
        select(IMPORTED.c.site, IMPORTED.c.calibration).outerjoin(STANDING, same)
        .where(IMPORTED.c.file_import == file_import, STANDING.c.site.is_(None)).order_by(IMPORTED.c.line)
    )  # fmt: skip
    return [(row.site, row.calibration) for row in connection.execute(query)]


def _flag_codes(connection: Connection, ids: Sequence[tuple[str, str]]) -> dict[tuple[str, str], list[str]]:
    found: dict[tuple[str, str], list[str]] = defaultdict(list)
    for start in range(0, len(ids), _PAGE):
        key = tuple_(FLAG.c.site, FLAG.c.calibration).in_(ids[start : start + _PAGE])
        query = select(FLAG.c.site, FLAG.c.calibration, FLAG.c.code).where(
            key, FLAG.c.revision == 1, FLAG.c.number == 1
        )
        for row in connection.execute(query.order_by(FLAG.c.place)):
            if row.code not in found[row.site, row.calibration]:
                found[row.site, row.calibration].append(row.code)
    return found


def touched_by(connection: Connection, file_import: str) -> tuple[Touched, ...]:
    """Return what shows the records of an import, each once: their devices, sites and wards."""
    same = and_(
        CONTENT.c.site == IMPORTED.c.site, CONTENT.c.calibration == IMPORTED.c.calibration, CONTENT.c.revision == 1
    )
    query = (
        select(IMPORTED.c.site, CONTENT.c.device_as_sent, CONTENT.c.ward).distinct().join(CONTENT, same)
        .where(IMPORTED.c.file_import == file_import)
    )  # fmt: skip
    found = [Touched("import", file_import)]
    for row in connection.execute(query).all():
        found += [Touched("device", row.device_as_sent), Touched("site", row.site)]
        if row.ward is not None:
            found.append(Touched("ward", row.ward))
    return tuple(dict.fromkeys(found))
