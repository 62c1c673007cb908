"""Labels read: by their id, and all that were stuck on a device under any of its tags, newest first."""

import json
from collections import defaultdict
from collections.abc import Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Row, Select, select

from api.database import sites_in_sight
from api.ledger.digests import digest_of
from api.models.label import LABEL, LABEL_EVENT
from api.models.log import LOG_TOUCH, SEALED
from api.records.calibration import StoredFlag
from api.records.documents import record_from
from api.records.label import LabelEvent, LabelSent, StoredLabel
from api.records.problems import NotOnRecord

L, E = LABEL, LABEL_EVENT
TOUCHED = "label"


def label_sent(connection: Connection, site: str, label: str) -> bytes | None:
    """Return the bytes first sent of a label at a site, or None where none were."""
    query = select(SEALED.c.content).join(L, SEALED.c.digest == L.c.sealed).where(L.c.site == site, L.c.label == label)
    return connection.execute(query).scalar()


def label_event_sent(connection: Connection, site: str, label: str, event: str) -> bytes | None:
    """Return the bytes first sent of an event of a label, or None where none were."""
    query = select(SEALED.c.content).join(E, SEALED.c.digest == E.c.sealed)
    return connection.execute(query.where(E.c.site == site, E.c.label == label, E.c.event == event)).scalar()


def label(connection: Connection, label_id: str) -> StoredLabel:
    """Return the label of an id; refuses one that is not on record, or not in sight (`NotOnRecord`)."""
    found = _labels(connection, _in_sight(connection, _rows().where(L.c.label == label_id)))
    if not found:
        raise NotOnRecord("No label of that id is on record.", label=label_id)
    return found[0]


def labels_of(connection: Connection, tags: Sequence[str]) -> tuple[StoredLabel, ...]:
    """Return every label in sight that was stuck on a device under one of its tags, the newest first."""
    query = _rows().where(L.c.device_as_sent.in_(tags)).order_by(L.c.stuck_at.desc(), L.c.label.desc())
    return _labels(connection, _in_sight(connection, query))


def _rows() -> Select[Any]:
    touch = (
        (LOG_TOUCH.c.kind == TOUCHED) & (LOG_TOUCH.c.key == L.c.site + "/" + L.c.label) & (LOG_TOUCH.c.revision == 1)
    )
    return (
        select(L, SEALED.c.content, LOG_TOUCH.c.number)
        .join(SEALED, SEALED.c.digest == L.c.sealed)
        .join(LOG_TOUCH, touch)
    )


def _in_sight(connection: Connection, query: Select[Any]) -> Select[Any]:
    sites = sites_in_sight(connection)
    return query if sites is None else query.where(L.c.site.in_(sites))


def _labels(connection: Connection, query: Select[Any]) -> tuple[StoredLabel, ...]:
    rows = connection.execute(query).all()
    events = _events(connection, rows)
    return tuple(_stored(row, events[row.site, row.label]) for row in rows)


def _events(connection: Connection, rows: Sequence[Row[Any]]) -> dict[tuple[str, str], list[LabelEvent]]:
    found: dict[tuple[str, str], list[LabelEvent]] = defaultdict(list)
    query = select(E).where(E.c.label.in_([row.label for row in rows])).order_by(E.c.happened_at, E.c.event)
    for row in connection.execute(query) if rows else ():
        happened, received = (datetime.fromisoformat(text) for text in (row.happened_at, row.received_at))
        event = LabelEvent(row.event, row.kind, happened, row.by_whom, row.recorded_by, received)
        found[row.site, row.label].append(event)
    return found


def _stored(row: Row[Any], events: Sequence[LabelEvent]) -> StoredLabel:
    content = json.loads(row.content)
    return StoredLabel(
        label=row.label,
        site=row.site,
        sent=record_from(LabelSent, content),
        content=content,
        flags=tuple(record_from(StoredFlag, flag) for flag in json.loads(row.flags)),
        received_at=datetime.fromisoformat(row.received_at),
        recorded_by=row.recorded_by,
        log_number=row.number,
        digest=digest_of(row.content),
        events=tuple(events),
    )
