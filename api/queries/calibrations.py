"""Calibrations read back: content as sent, the judgement in force, standing, flags, certificate."""

import json
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any

from sqlalchemy import ColumnElement, Connection, Row, Select, Table, and_, func, or_, select

from api.database import sites_in_sight
from api.ledger.digests import digest_of
from api.models.log import LOG_TOUCH, SEALED
from api.models.record import ARRIVAL, CERTIFICATE, CONTENT, FLAG, JUDGEMENT, STANDING
from api.queries.imports import imported_from
from api.records.calibration import Calibration, StoredFlag
from api.records.clocks import corrected, is_off
from api.records.documents import record_from
from api.records.file_import import Imported
from api.records.problems import NotOnRecord
from api.records.working import read_working

_KEY = ("site", "calibration", "revision")
C, J, S = CONTENT.alias("c"), JUDGEMENT.alias("j"), STANDING.alias("s")


def record_key(site: str, calibration: str) -> str:
    """Return the key under which the log knows a calibration: unique by site and id."""
    return f"{site}/{calibration}"


def _rows() -> Select[Any]:
    """One row a calibration: its newest content, the newest judgement of it, and where it stands."""
    newest = select(func.max(CONTENT.c.revision)).where(
        CONTENT.c.site == C.c.site, CONTENT.c.calibration == C.c.calibration
    )
    judged = select(func.max(JUDGEMENT.c.number)).where(*(JUDGEMENT.c[k] == C.c[k] for k in _KEY))
    stood = select(func.max(STANDING.c.place)).where(*(STANDING.c[k] == C.c[k] for k in _KEY))
    certified = and_(
        CERTIFICATE.c.site == C.c.site,
        CERTIFICATE.c.calibration == C.c.calibration,
        CERTIFICATE.c.content_revision == C.c.revision,
        CERTIFICATE.c.judgement == J.c.number,
    )
    logged = and_(
        LOG_TOUCH.c.kind == "calibration",
        LOG_TOUCH.c.key == C.c.site + "/" + C.c.calibration,
        LOG_TOUCH.c.revision == C.c.revision,
    )
    return (
        select(
            C,
            SEALED.c.content,
            J.c.number.label("judgement"), J.c.as_found, J.c.as_left, J.c.adjusted, J.c.working, S.c.standing,
            CERTIFICATE.c.number.label("certificate"), LOG_TOUCH.c.number.label("log_number"),
        )
        .select_from(C)
        .join(SEALED, SEALED.c.digest == C.c.sealed)
        .join(J, and_(*(J.c[k] == C.c[k] for k in _KEY), J.c.number == judged.scalar_subquery()))
        .join(S, and_(*(S.c[k] == C.c[k] for k in _KEY), S.c.place == stood.scalar_subquery()))
        .join(LOG_TOUCH, logged)
        .outerjoin(CERTIFICATE, certified)
        .where(C.c.revision == newest.scalar_subquery())
    )  # fmt: skip


def history_of(connection: Connection, *tags: str) -> tuple[Calibration, ...]:
    """Return every calibration and attempt of a device under its tags, newest visit first; equal times by id.

    What was sent under a tag before it was on the register belongs to it too, unlinked and flagged as it is. It is the
    device's whole history, at whichever site: whether a scale may be used does not depend on who asks.
    """
    return _calibrations(connection, _newest_first(_of_device(tags)))


def visits_in_sight(connection: Connection, *tags: str) -> tuple[Calibration, ...]:
    """Return those of a device's calibrations and attempts that a connection sees, newest visit first."""
    return _calibrations(connection, _newest_first(_in_sight(connection, _of_device(tags))))


def _of_device(tags: Sequence[str]) -> Select[Any]:
    sent_as = and_(C.c.device.is_(None), C.c.device_as_sent.in_(tags))
    return _rows().where(or_(C.c.device.in_(tags), sent_as))


def _in_sight(connection: Connection, query: Select[Any]) -> Select[Any]:
    sites = sites_in_sight(connection)
    return query if sites is None else query.where(C.c.site.in_(sites))


def unlinked(connection: Connection) -> tuple[Calibration, ...]:
    """Return every calibration whose device was not on the register when it arrived, newest visit first."""
    return _calibrations(connection, _newest_first(_rows().where(C.c.device.is_(None))))


def _newest_first(query: Select[Any]) -> Select[Any]:
    return query.order_by(C.c.performed_from.desc(), C.c.calibration.desc())


def calibrations_named(connection: Connection, calibration: str, site: str | None = None) -> tuple[Calibration, ...]:
    """Return the calibrations of an id that a connection sees, one for each site that has one."""
    query = _in_sight(connection, _rows().where(C.c.calibration == calibration).order_by(C.c.site))
    return _calibrations(connection, query if site is None else query.where(C.c.site == site))


def calibration(connection: Connection, calibration: str, site: str | None = None) -> Calibration:
    """Return one calibration; refuses an id that is not on record, or is at several sites (`NotOnRecord`)."""
    found = calibrations_named(connection, calibration, site)
    if len(found) == 1:
        return found[0]
    said = (
        f"{len(found)} sites have a calibration {calibration}; say which with site=."
        if found
        else "It is not on record."
    )
    raise NotOnRecord(said, calibration=calibration)


def _calibrations(connection: Connection, query: Select[Any]) -> tuple[Calibration, ...]:
    rows = connection.execute(query).all()
    flags = _flags(connection, rows)
    first = _first_arrivals(connection, rows)
    origins = imported_from(connection, [_place(row)[:2] for row in rows])
    places = [_place(row) for row in rows]
    return tuple(
        _calibration(row, flags[place], first[place[:2]], origins.get(place[:2]))
        for row, place in zip(rows, places, strict=True)
    )


def _place(row: Row[Any]) -> tuple[str, str, int, int]:
    return row.site, row.calibration, row.revision, row.judgement


def _of(table: Table, rows: Sequence[Row[Any]]) -> tuple[ColumnElement[bool], ...]:
    """What is kept beside these calibrations; by site first, as the keys are, so that no table is read whole."""
    return table.c.site.in_({row.site for row in rows}), table.c.calibration.in_({row.calibration for row in rows})


def _flags(connection: Connection, rows: Sequence[Row[Any]]) -> dict[tuple[str, str, int, int], list[StoredFlag]]:
    found: dict[tuple[str, str, int, int], list[StoredFlag]] = defaultdict(list)
    query = select(FLAG).where(*_of(FLAG, rows)).order_by(FLAG.c.place)
    for row in connection.execute(query) if rows else ():
        flag = StoredFlag(row.code, row.sentence, json.loads(row.facts), row.pointer)
        found[row.site, row.calibration, row.revision, row.number].append(flag)
    return found


@dataclass(frozen=True, slots=True)
class _First:
    """The first arrival of a calibration, by the service's clock, and how far the app's was behind it."""

    received_at: datetime
    offset: Decimal | None

    def corrected(self, performed: str) -> str | None:
        """A moment of the visit as the service's clock would have had it, where the app's was off."""
        moment = datetime.fromisoformat(performed.upper())
        return corrected(moment, self.offset).isoformat() if is_off(self.offset) else None


def _first_arrivals(connection: Connection, rows: Sequence[Row[Any]]) -> dict[tuple[str, str], _First]:
    query = select(ARRIVAL).where(*_of(ARRIVAL, rows), ARRIVAL.c.place == 1)
    arrived = connection.execute(query) if rows else ()
    return {
        (row.site, row.calibration): _First(
            datetime.fromisoformat(row.received_at), None if row.offset_seconds is None else Decimal(row.offset_seconds)
        )
        for row in arrived
    }


def _calibration(row: Row[Any], flags: list[StoredFlag], first: _First, imported: Imported | None) -> Calibration:
    content, working = json.loads(row.content), read_working(json.loads(row.working))
    performed = content["performed"]
    return Calibration(
        calibration=row.calibration,
        site=row.site,
        revision=row.revision,
        device=row.device or row.device_as_sent,
        device_on_register=row.device is not None,
        performed_from=performed["start"],
        performed_to=performed["end"],
        performed_on=row.performed_on,
        purpose=row.purpose,
        outcome=row.outcome,
        reasons=tuple(content.get("reasons", ())),
        technicians=tuple(content["technicians"]),
        standing=row.standing,
        adjusted=bool(row.adjusted),
        as_found=row.as_found,
        as_left=row.as_left,
        certificate=row.certificate,
        flags=tuple(flags),
        notes=tuple(record_from(StoredFlag, note) for note in working["notes"]),
        received_at=first.received_at,
        log_number=row.log_number,
        digest=digest_of(row.content),
        content=content,
        working=working,
        clock_offset_seconds=first.offset,
        corrected_from=first.corrected(performed["start"]),
        corrected_to=first.corrected(performed["end"]),
        imported=imported,
    )
