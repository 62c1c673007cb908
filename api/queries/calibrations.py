"""Calibrations read back: content as sent, a judgement of it, standing, flags, certificate.

Every revision of a record has its own standing, and only that says whether it counts: what stands is provisional or
released. The newest judgement of a revision is the one in force.
"""

import json
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any

import orjson
from sqlalchemy import ColumnElement, Connection, FromClause, Row, ScalarSelect, Select, and_, func, or_, select

from api.database import sites_in_sight
from api.ledger.digests import digest_of
from api.models.log import LOG_TOUCH, SEALED
from api.models.record import ARRIVAL, CERTIFICATE, CONTENT, FLAG, JUDGEMENT, LINK, REMARK, STANDING
from api.queries.attachments import attachments_named
from api.queries.imports import imported_from
from api.records.attachment import AttachmentOfVisit
from api.records.calibration import STANDS, Calibration, Remark, StandsSince, StoredFlag, notes_of_missing
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


def calibration_rows(judgement: int | None = None) -> Select[Any]:
    """Return one row a revision of a calibration: its content, a judgement of it (the newest), and where it stands."""
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
    number = judged.scalar_subquery() if judgement is None else judgement
    return (
        select(
            C,
            SEALED.c.content,
            J.c.number.label("judgement"), J.c.as_found, J.c.as_left, J.c.adjusted, J.c.working,
            S.c.standing, S.c.because, S.c.by_whom, S.c.moment,
            linked_device().label("linked"),
            CERTIFICATE.c.number.label("certificate"), CERTIFICATE.c.revision.label("certificate_revision"),
            LOG_TOUCH.c.number.label("log_number"),
        )
        .select_from(C)
        .join(SEALED, SEALED.c.digest == C.c.sealed)
        .join(J, and_(*(J.c[k] == C.c[k] for k in _KEY), J.c.number == number))
        .join(S, and_(*(S.c[k] == C.c[k] for k in _KEY), S.c.place == stood.scalar_subquery()))
        .join(LOG_TOUCH, logged)
        .outerjoin(CERTIFICATE, certified)
    )  # fmt: skip


def linked_device() -> ScalarSelect[str]:
    """Return the device that a content was linked to since it was sent, by the last of its links."""
    of_device = (*(LINK.c[k] == C.c[k] for k in _KEY), LINK.c.kind == "device")
    return select(LINK.c.key).where(*of_device).order_by(LINK.c.place.desc()).limit(1).scalar_subquery()


def _newest() -> ColumnElement[bool]:
    """Only the newest revision of each calibration."""
    newest = select(func.max(CONTENT.c.revision)).where(
        CONTENT.c.site == C.c.site, CONTENT.c.calibration == C.c.calibration
    )
    return C.c.revision == newest.scalar_subquery()


def history_of(connection: Connection, *tags: str) -> tuple[Calibration, ...]:
    """Return every calibration and attempt of a device under its tags, newest visit first; equal times by id.

    Every revision is among them, the newest first, each with its standing: what is superseded or void is shown, and counts
    nowhere. What was sent under a tag before it was on the register belongs to it too, unlinked and flagged as it is. It is
    the device's whole history, at whichever site: whether a scale may be used does not depend on who asks.
    """
    return read_calibrations(connection, _newest_first(calibration_rows().where(of_device(tags))))


def of_device(tags: Sequence[str]) -> ColumnElement[bool]:
    """Return what is true of a device's calibrations, under any of its tags."""
    sent_as = and_(C.c.device.is_(None), func.coalesce(linked_device(), C.c.device_as_sent).in_(tags))
    return or_(C.c.device.in_(tags), sent_as)


def seen_from(connection: Connection, query: Select[Any]) -> Select[Any]:
    """Return a query over calibrations, kept to those that a connection sees."""
    sites = sites_in_sight(connection)
    return query if sites is None else query.where(C.c.site.in_(sites))


def unlinked(connection: Connection) -> tuple[Calibration, ...]:
    """Return every calibration that stands whose device is not on the register, and was not linked, newest visit first."""
    waits = (C.c.device.is_(None), linked_device().is_(None), S.c.standing.in_(STANDS))
    return read_calibrations(connection, _newest_first(calibration_rows().where(*waits)))


def _newest_first(query: Select[Any]) -> Select[Any]:
    return query.order_by(C.c.performed_from.desc(), C.c.calibration.desc(), C.c.revision.desc())


def calibration(
    connection: Connection,
    calibration: str,
    site: str | None = None,
    revision: int | None = None,
    judgement: int | None = None,
) -> Calibration:
    """Return one calibration: its newest revision by the newest judgement, where no other is asked for.

    Refuses what is not on record, or is at several sites (`NotOnRecord`).
    """
    query = seen_from(connection, calibration_rows(judgement).where(C.c.calibration == calibration).order_by(C.c.site))
    query = query.where(_newest() if revision is None else C.c.revision == revision)
    found = read_calibrations(connection, query if site is None else query.where(C.c.site == site))
    if len(found) == 1:
        return found[0]
    said = (
        f"{len(found)} sites have a calibration {calibration}; say which with site=."
        if found
        else "It is not on record."
    )
    raise NotOnRecord(said, calibration=calibration)


def read_calibrations(connection: Connection, query: Select[Any]) -> tuple[Calibration, ...]:
    """Return the calibrations that a query over `calibration_rows` finds."""
    rows = connection.execute(query).all()
    flags = _flags(connection, rows)
    first = _first_arrivals(connection, rows)
    remarks = _remarks(connection, rows)
    origins = imported_from(connection, [_place(row)[:2] for row in rows])
    places = [_place(row) for row in rows]
    contents = [json.loads(row.content) for row in rows]
    named = attachments_named(connection, [(row.site, content) for row, content in zip(rows, contents, strict=True)])
    return tuple(
        _calibration(
            row,
            content,
            _Beside(tuple(flags[place]), first[place[:3]], origins.get(place[:2]), tuple(remarks[place[:3]]), attached),
        )
        for row, place, content, attached in zip(rows, places, contents, named, strict=True)
    )


def _place(row: Row[Any]) -> tuple[str, str, int, int]:
    return row.site, row.calibration, row.revision, row.judgement


def beside(table: FromClause, rows: Sequence[Any]) -> tuple[ColumnElement[bool], ...]:
    """Return what is true of what is kept beside these calibrations.

    By site first, as the keys are, so that no table is read whole.
    """
    return table.c.site.in_({row.site for row in rows}), table.c.calibration.in_({row.calibration for row in rows})


def _flags(connection: Connection, rows: Sequence[Row[Any]]) -> dict[tuple[str, str, int, int], list[StoredFlag]]:
    found: dict[tuple[str, str, int, int], list[StoredFlag]] = defaultdict(list)
    query = select(FLAG).where(*beside(FLAG, rows)).order_by(FLAG.c.place)
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


def _first_arrivals(connection: Connection, rows: Sequence[Row[Any]]) -> dict[tuple[str, str, int], _First]:
    """The first arrival of each revision."""
    query = select(ARRIVAL).where(*beside(ARRIVAL, rows)).order_by(ARRIVAL.c.place)
    found: dict[tuple[str, str, int], _First] = {}
    for row in connection.execute(query) if rows else ():
        offset = None if row.offset_seconds is None else Decimal(row.offset_seconds)
        first = _First(datetime.fromisoformat(row.received_at), offset)
        found.setdefault((row.site, row.calibration, row.revision), first)
    return found


def _remarks(connection: Connection, rows: Sequence[Row[Any]]) -> dict[tuple[str, str, int], list[Remark]]:
    found: dict[tuple[str, str, int], list[Remark]] = defaultdict(list)
    query = select(REMARK).where(*beside(REMARK, rows)).order_by(REMARK.c.place)
    for row in connection.execute(query) if rows else ():
        remark = Remark(row.words, row.by_whom, datetime.fromisoformat(row.moment))
        found[row.site, row.calibration, row.revision].append(remark)
    return found


@dataclass(frozen=True, slots=True)
class _Beside:
    """What is kept beside one revision of a calibration."""

    flags: tuple[StoredFlag, ...]
    first: _First
    imported: Imported | None
    remarks: tuple[Remark, ...]
    attachments: tuple[AttachmentOfVisit, ...]


def _calibration(row: Row[Any], content: dict[str, Any], beside: _Beside) -> Calibration:
    working, first = read_working(orjson.loads(row.working)), beside.first
    performed = content["performed"]
    return Calibration(
        calibration=row.calibration,
        site=row.site,
        revision=row.revision,
        device=row.device or row.linked or row.device_as_sent,
        device_on_register=row.device is not None or row.linked is not None,
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
        flags=beside.flags,
        notes=(*(record_from(StoredFlag, note) for note in working["notes"]), *notes_of_missing(beside.attachments)),
        received_at=first.received_at,
        log_number=row.log_number,
        digest=digest_of(row.content),
        content=content,
        working=working,
        clock_offset_seconds=first.offset,
        corrected_from=first.corrected(performed["start"]),
        corrected_to=first.corrected(performed["end"]),
        imported=beside.imported,
        judgement=row.judgement,
        stands=StandsSince(row.because, row.by_whom, datetime.fromisoformat(row.moment)),
        certificate_revision=row.certificate_revision,
        supersedes=row.supersedes,
        amended_because=row.amended_because,
        recorded_by=row.recorded_by,
        recorded_at=datetime.fromisoformat(row.recorded_at),
        remarks=beside.remarks,
        attachments=beside.attachments,
    )
