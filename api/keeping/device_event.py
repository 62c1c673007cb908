"""Keeping an event of a device: create-only under an id of its own, every arrival kept, the first one deciding."""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Connection, insert

from api.keeping.content import Arrived
from api.keeping.event_flags import moment_that_counts
from api.keeping.log import hold_log, seal
from api.keeping.replay import note_arrival, refuse_other_content
from api.ledger.digests import digest_of, stored_bytes
from api.metrology.device_events import EventKind, OpenKind
from api.metrology.judgement import Flag
from api.metrology.verdict import Verdict
from api.models.device_event import DEVICE_EVENT, DEVICE_EVENT_ARRIVAL
from api.queries.calibrations import record_key
from api.queries.device_events import TOUCHED, event_arrivals, event_sent, find_event
from api.queries.log import hash_of_entry
from api.records.calibration import StoredFlag
from api.records.cautions import CAUTIONS
from api.records.clocks import offset_of
from api.records.device_event import EventReceipt
from api.records.log import Touched
from api.records.problems import ContentDiffers
from api.records.working import flag_document

# What to do now, by what an event leaves open; beside the words of each kind of event (the cautions' own places).
_CAUTIONS: dict[OpenKind, tuple[str, ...]] = {
    "dropped": ("C-17",), "damaged": ("C-17",), "reads oddly": ("C-17",), "failed check": ("C-17",),
    "wrong unit": ("C-03", "C-17"), "sent for repair": ("C-04",), "back from repair": ("C-04",),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Happened:
    """An event as it arrived: under which id, at which site, of which kind, about which tag, when it is said to have been.

    `counts_from` is the moment that decides.
    """

    arrived: Arrived
    site: str
    kind: EventKind
    what: str
    device: str
    happened_at: datetime
    counts_from: datetime

    @property
    def event(self) -> str:
        """Its id."""
        return self.arrived.calibration

    @property
    def key(self) -> str:
        """The key under which the log knows it."""
        return record_key(self.site, self.event)


def happened(
    connection: Connection, arrived: Arrived, site: str, kind: EventKind, what: str, device: str, at: datetime
) -> Happened:
    """Return an event as it arrived, with the moment that decides."""
    return Happened(arrived, site, kind, what, device, at, moment_that_counts(connection, site, at, arrived))


@dataclass(frozen=True, slots=True)
class MadeOfIt:
    """What was made of an event: the device it is about, None where it is not known, its flags; of a check its verdict."""

    device: str | None
    flags: Sequence[Flag]
    verdict: Verdict | None = None
    working: dict[str, Any] | None = None


def known_before(connection: Connection, happened: Happened) -> EventReceipt | None:
    """Return the first receipt of an event that arrived before, marked replayed, and keep this arrival; None where it is new.

    Refuses other content under an id that is taken (`ContentDiffers`); nothing is changed then.
    """
    hold_log(connection)
    body = event_sent(connection, happened.site, happened.event)
    if body is None:
        return None
    _refuse_other(connection, happened, body)
    keep_event_arrival(connection, happened, event_arrivals(connection, happened.site, happened.event) + 1)
    note_arrival(connection, happened.arrived, "device event arrived again", happened.site)
    return receipt_of(connection, happened, replayed=True)


def _refuse_other(connection: Connection, happened: Happened, body: bytes) -> None:
    """The tag is part of what was said, wherever it stood: in the address or in the body."""
    kept, arrived = json.loads(body), happened.arrived
    told = find_event(connection, happened.site, happened.event)
    if told is not None and (told.device, told.kind) != (happened.device, happened.kind):
        raise ContentDiffers(
            f"Event {happened.event} is on record of kind {told.kind} about {told.device}.", ("#/device",),
            kept_digest=digest_of(body), sent_digest=digest_of(arrived.body),
        )  # fmt: skip
    if _said(kept) != _said(arrived.content):
        refuse_other_content(arrived, body, "Event")


def _said(content: dict[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in content.items() if name not in ("device", "id")}


def keep_event(connection: Connection, happened: Happened, made: MadeOfIt) -> str:
    """Keep a new event with its first arrival; return the salted digest of what was sent."""
    arrived = happened.arrived
    sealed = seal(connection, arrived.body)
    connection.execute(
        insert(DEVICE_EVENT),
        {
            "site": happened.site, "event": happened.event, "kind": happened.kind, "what": happened.what,
            "device_as_sent": happened.device, "device": made.device,
            "happened_at": happened.counts_from.astimezone(UTC).isoformat(),
            "happened_on": happened.counts_from.date().isoformat(),
            "received_at": arrived.received_at.isoformat(), "recorded_by": arrived.by_whom,
            "verdict": made.verdict, "flags": _flags(made.flags), "notes": _flags(arrived.unread),
            "working": stored_bytes(made.working).decode() if made.working else None, "sealed": sealed,
        },
    )  # fmt: skip
    keep_event_arrival(connection, happened, 1)
    return sealed


def _flags(flags: Sequence[Flag]) -> str:
    return stored_bytes([flag_document(flag) for flag in flags]).decode()


def keep_event_arrival(connection: Connection, happened: Happened, place: int) -> None:
    """Keep that an event arrived, the first time or again, and how far the clocks were apart."""
    arrived = happened.arrived
    offset = offset_of(arrived.received_at, arrived.sent_at)
    connection.execute(
        insert(DEVICE_EVENT_ARRIVAL),
        {
            "site": happened.site, "event": happened.event, "place": place,
            "sent_at": arrived.sent_at.isoformat() if arrived.sent_at else None,
            "received_at": arrived.received_at.isoformat(),
            "offset_seconds": None if offset is None else f"{offset:.3f}",
        },
    )  # fmt: skip


def touched_by(happened: Happened) -> tuple[Touched, ...]:
    """Return what an event touches: itself, the device as it was named, the site."""
    return Touched(TOUCHED, happened.key, 1), Touched("device", happened.device), Touched("site", happened.site)


def receipt_of(connection: Connection, happened: Happened, *, replayed: bool) -> EventReceipt:
    """Return the receipt of an event that is on record by now, for this arrival of it."""
    told = find_event(connection, happened.site, happened.event)
    assert told is not None, "an event is kept, and in the log, before its receipt is written"
    codes = {note.code for note in told.notes}
    more = [note for note in happened.arrived.unread if note.code not in codes]
    return EventReceipt(
        event=told.event,
        site=told.site,
        kind=told.kind,
        what=told.what,
        device=told.device,
        device_on_register=told.device_on_register,
        replayed=replayed,
        received_at=told.received_at,
        digest=told.digest,
        arrived_digest=digest_of(happened.arrived.body),
        log_number=told.log_number,
        log_hash=hash_of_entry(connection, told.log_number),
        flags=told.flags,
        notes=(*told.notes, *(StoredFlag(note.code, note.sentence, note.facts, note.pointer) for note in more)),
        cautions=_cautions(told.leaves_open),
        leaves_open=told.leaves_open,
        verdict=told.verdict,
    )


def _cautions(leaves_open: OpenKind | None) -> tuple[str, ...]:
    codes = _CAUTIONS.get(leaves_open, ()) if leaves_open else ()
    return tuple(f"{CAUTIONS[code]} ({code})" for code in codes)
