"""Close an open event of a scale, in a person's own words: who looked into it answers for it."""

from datetime import datetime

from sqlalchemy import Connection, insert

from api.keeping.log import Draft, append_to_log, hold_log, seal
from api.keeping.record_in_hand import check_words
from api.ledger.digests import canonical_bytes
from api.models.device_event import DEVICE_EVENT_CLOSING
from api.queries.calibrations import record_key
from api.queries.device_events import TOUCHED, event_named
from api.records.device_event import DeviceEvent
from api.records.event_sent import ClosingAsked
from api.records.log import Touched
from api.records.problems import EventClosed


def close_event(
    connection: Connection, event: str, site: str | None, asked: ClosingAsked, *, by_whom: str, moment: datetime
) -> DeviceEvent:
    """Close an event and return it; by the same person in the same words again, return it as it is.

    Refuses one that is not on record (`NotOnRecord`), that leaves nothing open, or that was closed by a person before
    (`EventClosed`), and words that look as if they named a person (`NamesAPerson`).
    """
    check_words(asked.words)
    hold_log(connection)
    told = event_named(connection, event, site)
    if _is_said_again(told, asked, by_whom):
        return told
    _check_open(told)
    connection.execute(
        insert(DEVICE_EVENT_CLOSING),
        {
            "site": told.site, "event": told.event, "words": asked.words, "closed_by": by_whom,
            "closed_at": moment.isoformat(),
        },
    )  # fmt: skip
    touched = Touched(TOUCHED, record_key(told.site, told.event), 2), Touched("device", told.device)
    sealed = seal(connection, canonical_bytes({"site": told.site, "event": told.event, "words": asked.words}))
    draft = Draft("device event closed", by_whom, moment, (*touched, Touched("site", told.site)), sealed)
    append_to_log(connection, draft)
    return event_named(connection, event, told.site)


def _is_said_again(told: DeviceEvent, asked: ClosingAsked, by_whom: str) -> bool:
    closed = told.closed
    return closed is not None and (closed.words, closed.by_whom) == (asked.words, by_whom)


def _check_open(told: DeviceEvent) -> None:
    if told.leaves_open is None:
        raise EventClosed(f"Event {told.event} ({told.kind}) leaves nothing open.", event=told.event)
    if told.closed is not None:
        said = f"Event {told.event} was closed by {told.closed.by_whom} on {told.closed.closed_at.date().isoformat()}."
        raise EventClosed(said, event=told.event)
