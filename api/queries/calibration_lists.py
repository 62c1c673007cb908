"""Calibrations listed: a part of all that are in sight, or of one device's, narrowed by what they are and became.

Every revision for itself, with its own standing: what was released stands until an amendment of it is. Newest visit first;
visits of one moment by their id, site and revision, so that any number of them stand in one order. A part is found
on the contents alone, which an index has in that order; what was made of them is then read beside. As one query it is at
the mercy of what a database guesses of tables it has not counted yet: on PostgreSQL a part of 100 took 20 seconds.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from datetime import datetime
from typing import Any, Final

from sqlalchemy import ColumnElement, Connection, Row, ScalarSelect, Select, Table, func, or_, select

from api.models.log import LOG_TOUCH
from api.models.record import CERTIFICATE, FLAG, JUDGEMENT, STANDING
from api.queries.calibrations import (
    C,
    beside,
    calibration_rows,
    linked_device,
    of_device,
    read_calibrations,
    record_key,
    seen_from,
)
from api.queries.paging import rows_listed
from api.records.calibration import Calibration, CalibrationListed
from api.records.device import Device
from api.records.listing import Listed, Part

_ORDER: Final = (C.c.performed_from, C.c.calibration, C.c.site, C.c.revision)
_KEY: Final = ("site", "calibration", "revision")
TOGETHER: Final = 500  # read beside at once, within what both databases take as parameters of one question
Where = Mapping[str, Any]
Key = tuple[str, str, int]


def _same(table: Any) -> tuple[ColumnElement[bool], ...]:
    return tuple(table.c[name] == C.c[name] for name in _KEY)


def _newest(table: Table, column: ColumnElement[Any], place: str) -> ScalarSelect[Any]:
    """What the newest row kept beside a content says."""
    return select(column).where(*_same(table)).order_by(table.c[place].desc()).limit(1).scalar_subquery()


def _touched_after(number: int) -> ColumnElement[bool]:
    touched = (LOG_TOUCH.c.kind == "calibration", LOG_TOUCH.c.key == C.c.site + "/" + C.c.calibration)
    return select(LOG_TOUCH.c.number).where(*touched, LOG_TOUCH.c.number > number).exists()


def _flagged(code: str) -> ColumnElement[bool]:
    in_force = _newest(JUDGEMENT, JUDGEMENT.c.number, "number")
    return select(FLAG.c.code).where(*_same(FLAG), FLAG.c.number == in_force, FLAG.c.code == code).exists()


_VERDICT: Final = _newest(JUDGEMENT, func.coalesce(JUDGEMENT.c.as_left, JUDGEMENT.c.as_found), "number")
_CONDITIONS: Final[dict[str, Callable[[Any], ColumnElement[bool]]]] = {
    "site": lambda code: C.c.site == code,
    "ward": lambda code: C.c.ward_as_sent == code,
    "tags": of_device,
    "standing": lambda word: _newest(STANDING, STANDING.c.standing, "place") == word,
    "verdict": lambda word: word == _VERDICT,
    "as_found": lambda word: _newest(JUDGEMENT, JUDGEMENT.c.as_found, "number") == word,
    "purpose": lambda word: C.c.purpose == word,
    "outcome": lambda word: C.c.outcome == word,
    "technician": lambda code: or_(C.c.technician == code, C.c.technician_as_sent == code),
    "flag": _flagged,
    "from": lambda day: C.c.performed_on >= day.isoformat(),
    "to": lambda day: C.c.performed_on <= day.isoformat(),
    "changed_after": _touched_after,
}


def _contents() -> Select[Any]:
    """Every revision that stands somewhere; one that does not belongs to an import that is not done."""
    stands = select(STANDING.c.place).where(*_same(STANDING)).exists()
    return select(C, linked_device().label("linked")).where(stands)


def _part(connection: Connection, where: Where, part: Part) -> Listed[Row[Any]]:
    query = seen_from(connection, _contents())
    narrowed = query.where(*(_CONDITIONS[name](value) for name, value in where.items()))
    return rows_listed(connection, narrowed, _ORDER, part, falling=True)


def visits_in_sight(connection: Connection, tags: Sequence[str], where: Where, part: Part) -> Listed[Calibration]:
    """Return a part of a device's calibrations and attempts that a connection sees, whole, newest visit first."""
    found = _part(connection, {**where, "tags": tags}, part)
    if not found.items:
        return Listed(())
    whole = read_calibrations(connection, calibration_rows().where(*beside(C, found.items)))
    named = {(c.site, c.calibration, c.revision): c for c in whole}
    return found.of(lambda row: named[_key(row)])


def calibrations_listed(connection: Connection, where: Where, part: Part) -> Listed[CalibrationListed]:
    """Return a part of the calibrations and attempts that a connection sees, newest visit first, each in short."""
    found = _part(connection, where, part)
    return Listed(_in_short(connection, found.items), found.next)


def visits_of(connection: Connection, devices: Iterable[Device]) -> dict[str, tuple[CalibrationListed, ...]]:
    """Return the whole history of devices in short, by tag, newest visit first; whoever asks and wherever it was."""
    tag_of = {tag: device.tag for device in devices for tag in device.tags}
    found: dict[str, list[CalibrationListed]] = {tag: [] for tag in tag_of.values()}
    tags = list(tag_of)
    for start in range(0, len(tags), TOGETHER):
        query = _contents().where(of_device(tags[start : start + TOGETHER]))
        for visit in _in_short(connection, connection.execute(query).all()):
            found[tag_of[visit.device]].append(visit)
    return {tag: tuple(sorted(visits, key=_newest_first, reverse=True)) for tag, visits in found.items()}


def _newest_first(visit: CalibrationListed) -> tuple[datetime, str, int]:
    return visit.performed_from, visit.calibration, visit.revision


def _in_short(connection: Connection, rows: Sequence[Row[Any]]) -> tuple[CalibrationListed, ...]:
    found: list[CalibrationListed] = []
    for start in range(0, len(rows), TOGETHER):
        found += _some_in_short(connection, rows[start : start + TOGETHER])
    return tuple(found)


def _some_in_short(connection: Connection, rows: Sequence[Row[Any]]) -> Iterator[CalibrationListed]:
    judged = _last(connection, JUDGEMENT, rows, "number")
    stood = _last(connection, STANDING, rows, "place")
    flags, certified = _flag_codes(connection, rows), _certificates(connection, rows)
    touched = _last_touched(connection, rows)
    for row in rows:
        key = _key(row)
        number = judged[key].number
        yield _listed(
            row,
            judged=judged[key],
            standing=stood[key].standing,
            flags=tuple(dict.fromkeys(flags.get((*key, number), ()))),
            certificate=certified.get((*key, number)),
            log_number=touched[record_key(row.site, row.calibration)],
        )


def _key(row: Row[Any]) -> Key:
    return row.site, row.calibration, row.revision


def _last(connection: Connection, table: Table, rows: Sequence[Row[Any]], place: str) -> dict[Key, Row[Any]]:
    """The newest row of a table beside each content; of a judgement without its working, which is long."""
    columns = [column for column in table.c if column.name != "working"]
    query = select(*columns).where(*beside(table, rows)).order_by(table.c[place])
    return {_key(row): row for row in connection.execute(query)}


def _flag_codes(connection: Connection, rows: Sequence[Row[Any]]) -> dict[tuple[str, str, int, int], list[str]]:
    found: dict[tuple[str, str, int, int], list[str]] = {}
    for row in connection.execute(select(FLAG).where(*beside(FLAG, rows)).order_by(FLAG.c.place)):
        found.setdefault((*_key(row), row.number), []).append(row.code)
    return found


def _certificates(connection: Connection, rows: Sequence[Row[Any]]) -> dict[tuple[str, str, int, int], str]:
    columns = (CERTIFICATE.c[name] for name in ("site", "calibration", "content_revision", "judgement", "number"))
    found = connection.execute(select(*columns).where(*beside(CERTIFICATE, rows)))
    return {(row.site, row.calibration, row.content_revision, row.judgement): row.number for row in found}


def _last_touched(connection: Connection, rows: Sequence[Row[Any]]) -> dict[str, int]:
    keys = [record_key(row.site, row.calibration) for row in rows]
    newest = func.max(LOG_TOUCH.c.number).label("newest")
    query = select(LOG_TOUCH.c.key, newest).where(LOG_TOUCH.c.kind == "calibration", LOG_TOUCH.c.key.in_(keys))
    return {row.key: row.newest for row in connection.execute(query.group_by(LOG_TOUCH.c.key))}


def _listed(row: Row[Any], *, judged: Row[Any], **told: Any) -> CalibrationListed:
    return CalibrationListed(
        calibration=row.calibration,
        site=row.site,
        revision=row.revision,
        device=row.device or row.linked or row.device_as_sent,
        device_on_register=row.device is not None or row.linked is not None,
        ward=row.ward_as_sent,
        technician=row.technician_as_sent,
        performed_from=datetime.fromisoformat(row.performed_from),
        performed_to=datetime.fromisoformat(row.performed_to),
        performed_on=row.performed_on,
        purpose=row.purpose,
        outcome=row.outcome,
        adjusted=bool(judged.adjusted),
        as_found=judged.as_found,
        as_left=judged.as_left,
        recorded_at=datetime.fromisoformat(row.recorded_at),
        **told,
    )


def kept_whole(connection: Connection, visits: Sequence[CalibrationListed]) -> dict[Key, Calibration]:
    """Return visits whole that were found in short, by site, id and revision."""
    wanted = {(visit.site, visit.calibration, visit.revision) for visit in visits}
    if not wanted:
        return {}
    whole = read_calibrations(connection, calibration_rows().where(*beside(C, visits)))
    return {key: c for c in whole if (key := (c.site, c.calibration, c.revision)) in wanted}
