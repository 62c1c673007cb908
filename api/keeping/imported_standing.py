"""Where imported records stand: like any other, what has no flag is released where the owner's rule releases that; no
certificate is ever issued for them."""

from collections import defaultdict
from collections.abc import Sequence
from typing import Any

from sqlalchemy import ColumnElement, Connection, and_, select, tuple_

from api.keeping.release_rule import flagged_words, release_rule, standing_on_receipt
from api.keeping.standing import StandsAt, Word, keep_standings, what_stands
from api.models.file_import import IMPORTED
from api.models.record import CONTENT, FLAG, STANDING
from api.records.log import Touched

IMPORTED_WORDS = "no certificate is issued for imported records"
_PAGE = 500


def stand_imported(connection: Connection, file_import: str, word: Word) -> int:
    """Give their standing to the records of an import that have none yet, and return how many there were.

    Until then nobody sees them: an import of the whole file or nothing stands all at once.
    """
    rule = release_rule(connection, word.moment.date())
    waiting = _without_standing(connection, file_import)
    flagged = _flag_codes(connection, [(row.site, row.calibration) for row in waiting])
    events = []
    for row in waiting:
        standing, because = standing_on_receipt(rule, (), (row.technician_as_sent,))
        if codes := flagged.get((row.site, row.calibration)):
            standing, because = "provisional", flagged_words(codes)
        said = Word(word.by_whom, word.moment, f"{because}; {IMPORTED_WORDS}")
        events.append((StandsAt(row.site, row.calibration, 1), standing, said))
    return keep_standings(connection, events)


def void_imported(connection: Connection, file_import: str, word: Word) -> int:
    """Make every record of an import void that is not yet, and return how many records there were. Nothing is deleted."""
    stand = what_stands(connection, _of_import(file_import))
    stand += [StandsAt(row.site, row.calibration, 1) for row in _without_standing(connection, file_import)]
    keep_standings(connection, [(at, "void", word) for at in stand])
    return len({(at.site, at.calibration) for at in stand})


def _of_import(file_import: str) -> ColumnElement[bool]:
    """The standing events of the records of an import, whatever became of them since."""
    ours = select(IMPORTED.c.site, IMPORTED.c.calibration).where(IMPORTED.c.file_import == file_import)
    return tuple_(STANDING.c.site, STANDING.c.calibration).in_(ours)


def _without_standing(connection: Connection, file_import: str) -> Sequence[Any]:
    stood = and_(STANDING.c.site == IMPORTED.c.site, STANDING.c.calibration == IMPORTED.c.calibration)
    sent = and_(
        CONTENT.c.site == IMPORTED.c.site, CONTENT.c.calibration == IMPORTED.c.calibration, CONTENT.c.revision == 1
    )
    query = (
        select(IMPORTED.c.site, IMPORTED.c.calibration, CONTENT.c.technician_as_sent).join(CONTENT, sent)
        .outerjoin(STANDING, stood).where(IMPORTED.c.file_import == file_import, STANDING.c.site.is_(None))
        .order_by(IMPORTED.c.line)
    )  # fmt: skip
    return connection.execute(query).all()


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
