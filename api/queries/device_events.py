"""Events of devices read back: what was sent, what was made of it, and a person's closing."""

import json
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any

from sqlalchemy import Connection, Row, Select, and_, bindparam, func, select

from api.database import sites_in_sight
from api.ledger.digests import digest_of
from api.metrology.device_events import left_open_by
from api.models.device_event import DEVICE_EVENT, DEVICE_EVENT_ARRIVAL, DEVICE_EVENT_CLOSING
from api.models.log import LOG_TOUCH, SEALED
from api.records.calibration import StoredFlag
from api.records.device import Device
from api.records.device_event import Closing, DeviceEvent
from api.records.documents import record_from
from api.records.problems import NotOnRecord
from api.records.working import read_working

E, A, C = DEVICE_EVENT.alias("e"), DEVICE_EVENT_ARRIVAL.alias("a"), DEVICE_EVENT_CLOSING.alias("c")
TOUCHED = "device event"
TOGETHER = 500  # tags asked for at once


def _rows() -> Select[Any]:
    """One row an event with its first arrival, its log entry, and a person's closing where there is one."""
    first = and_(A.c.site == E.c.site, A.c.event == E.c.event, A.c.place == 1)
    closed = and_(C.c.site == E.c.site, C.c.event == E.c.event)
    logged = and_(
        LOG_TOUCH.c.kind == TOUCHED,
        LOG_TOUCH.c.key == E.c.site + "/" + E.c.event,
        LOG_TOUCH.c.revision == 1,
    )
    return (
        select(
            E, A.c.offset_seconds, SEALED.c.content, LOG_TOUCH.c.number,
            C.c.words, C.c.closed_by, C.c.closed_at,
        )
        .join(SEALED, SEALED.c.digest == E.c.sealed)
        .join(A, first)
        .join(LOG_TOUCH, logged)
        .outerjoin(C, closed)
        .order_by(E.c.happened_at.desc(), E.c.event.desc())
    )  # fmt: skip


# Made once: it is asked for every device that is published or listed.
_OF_TAGS = _rows().where(E.c.device_as_sent.in_(bindparam("tags", expanding=True)))


def events_of(connection: Connection, *tags: str) -> tuple[DeviceEvent, ...]:
    """Return everything that happened to a device under its tags, the newest first, at whichever site it was told.

    What was sent under a tag before it was on the register belongs to it too.
    """
    return tuple(map(_event, connection.execute(_OF_TAGS, {"tags": tags})))


def events_by_device(connection: Connection, devices: Iterable[Device]) -> dict[str, tuple[DeviceEvent, ...]]:
    """Return everything that happened to devices, by tag, the newest first, at whichever site it was told."""
    tag_of = {tag: device.tag for device in devices for tag in device.tags}
    found: dict[str, list[DeviceEvent]] = {tag: [] for tag in tag_of.values()}
    tags = list(tag_of)
    for start in range(0, len(tags), TOGETHER):
        for event in events_of(connection, *tags[start : start + TOGETHER]):
            found[tag_of[event.device]].append(event)
    return {tag: tuple(events) for tag, events in found.items()}


def events_in_sight(connection: Connection, *tags: str) -> tuple[DeviceEvent, ...]:
    """Return the events that a connection sees, of some devices where tags are given, the newest first."""
    sites = sites_in_sight(connection)
    query = _rows() if sites is None else _rows().where(E.c.site.in_(sites))
    return tuple(map(_event, connection.execute(query.where(E.c.device_as_sent.in_(tags)) if tags else query)))


@dataclass(frozen=True, slots=True)
class EventsAsked:
    """Which events are asked for; None means any."""

    site: str | None = None
    device: str | None = None
    kind: str | None = None


def events_asked(connection: Connection, asked: EventsAsked) -> tuple[DeviceEvent, ...]:
    """Return the events that a connection sees and that are asked for, the newest first."""
    told = {E.c.site: asked.site, E.c.device_as_sent: asked.device, E.c.kind: asked.kind}
    query = _rows().where(*(column == value for column, value in told.items() if value is not None))
    sites = sites_in_sight(connection)
    return tuple(map(_event, connection.execute(query if sites is None else query.where(E.c.site.in_(sites)))))


def find_event(connection: Connection, site: str, event: str) -> DeviceEvent | None:
    """Return an event of a site, or None where it has none of that id."""
    row = connection.execute(_rows().where(E.c.site == site, E.c.event == event)).first()
    return _event(row) if row else None


def event_named(connection: Connection, event: str, site: str | None = None) -> DeviceEvent:
    """Return the event of an id that a connection sees; refuses one that it does not, or at several sites (`NotOnRecord`)."""
    sites = sites_in_sight(connection)
    query = _rows().where(E.c.event == event)
    query = query if site is None else query.where(E.c.site == site)
    found = connection.execute(query if sites is None else query.where(E.c.site.in_(sites))).all()
    if len(found) == 1:
        return _event(found[0])
    said = f"{len(found)} sites have an event {event}; say which with site=." if found else "It is not on record."
    raise NotOnRecord(said, event=event)


def event_sent(connection: Connection, site: str, event: str) -> bytes | None:
    """Return the bytes first sent under an id at a site, or None where none were."""
    query = select(SEALED.c.content).join(E, SEALED.c.digest == E.c.sealed).where(E.c.site == site, E.c.event == event)
    return connection.execute(query).scalar()


def event_arrivals(connection: Connection, site: str, event: str) -> int:
    """Return how often an event has arrived."""
    counted = select(func.count()).select_from(A).where(A.c.site == site, A.c.event == event)
    return connection.execute(counted).scalar_one()


def _event(row: Row[Any]) -> DeviceEvent:
    """An event as the record alone has it: what closed it beside a person follows from the history of its device."""
    content, leaves_open = json.loads(row.content), left_open_by(row.kind, row.what, row.verdict)
    return DeviceEvent(
        event=row.event,
        site=row.site,
        kind=row.kind,
        what=row.what,
        device=row.device_as_sent,
        device_on_register=row.device is not None,
        happened_at=content["happened_at"],
        happened_on=date.fromisoformat(row.happened_on),
        counts_from=datetime.fromisoformat(row.happened_at),
        received_at=datetime.fromisoformat(row.received_at),
        recorded_by=row.recorded_by,
        open=leaves_open is not None and row.closed_at is None,
        flags=_flags(row.flags),
        notes=_flags(row.notes),
        log_number=row.number,
        digest=digest_of(row.content),
        content=content,
        clock_offset_seconds=None if row.offset_seconds is None else Decimal(row.offset_seconds),
        verdict=row.verdict,
        working=read_working(json.loads(row.working)) if row.working else None,
        leaves_open=leaves_open,
        closed=_closing(row) if row.closed_at else None,
    )


def _closing(row: Row[Any]) -> Closing:
    moment = datetime.fromisoformat(row.closed_at).astimezone(UTC)
    return Closing("a person", moment, row.closed_by, row.words)


def _flags(stored: str) -> tuple[StoredFlag, ...]:
    return tuple(record_from(StoredFlag, flag) for flag in json.loads(stored))
