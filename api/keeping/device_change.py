"""A change of a device that a person tells with its moment: on the register from that day on, together with its event.

Told late, it also changes what came to hold later, up to the next event of its kind or a revision that says otherwise: so the
order in which things are told changes nothing.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any

from sqlalchemy import Connection

from api.keeping.content import Arrived
from api.keeping.device_event import Happened, MadeOfIt, keep_event, known_before, receipt_of, touched_by
from api.keeping.event_flags import flags_of_event, is_ahead, moment_told
from api.keeping.log import Draft, append_to_log
from api.keeping.record_in_hand import check_words
from api.keeping.register_change import RegisterChange
from api.keeping.register_entry import keep_on_register, put_on_register
from api.metrology.device_events import EventKind
from api.queries.device_events import events_in_sight, events_of
from api.queries.register import Chain, chain_of, forget_register, in_force, standing_on
from api.records.caller import check_own_site
from api.records.device import Device
from api.records.device_event import EventReceipt
from api.records.problems import DeviceRetired, NotYet
from api.records.register import Revision


@dataclass(frozen=True, slots=True)
class ChangeOfDevice:
    """What an event changes of a device: in which words, how, in which fields, and which kinds of event speak of the same.

    What is `for_good` also holds over whatever was told, or registered, of later days.
    """

    log_kind: str
    words: tuple[str, ...]
    changed: Callable[[Device], Device]
    fields: tuple[str, ...]
    kinds: tuple[EventKind, ...]
    for_good: bool = False


def change_device(
    connection: Connection, happened: Happened, change: ChangeOfDevice, sites: frozenset[str] | None
) -> EventReceipt:
    """Keep an event with the revision of its device that it makes, in one entry of the log, and return its receipt.

    Refuses a device that is not on the register that day (`NotOnRecord`), one that is retired (`DeviceRetired`), one at a
    site beyond `sites` (`SiteNotInKey`), what has not happened yet (`NotYet`), other content under an id that is taken
    (`ContentDiffers`), words that look as if they named a person (`NamesAPerson`), and as `keep_on_register` does. Nothing is
    changed then.
    """
    check_words(*change.words)
    if (before := known_before(connection, happened)) is not None:
        return before
    device = device_to_change(connection, happened, sites)
    _, told = flags_of_event(connection, happened.arrived, happened.site, happened.device, happened.happened_at)
    flags = [flag for flag in told if flag.code != "site-differs"]  # a move is told at the site it leads to
    revisions = _revisions(connection, happened, change, device)
    draft = keep_on_register(connection, revisions[0]) if revisions else None
    sealed = keep_event(connection, happened, MadeOfIt(device.key, flags))
    append_to_log(connection, _entry(happened, change.log_kind, sealed, draft))
    forget_register(connection)
    for revision in revisions[1:]:
        put_on_register(connection, revision)
    return receipt_of(connection, happened, replayed=False)


def site_of_device(connection: Connection, tag: str, arrived: Arrived, happened_at: datetime) -> str:
    """Return the site at which an event that names none is kept: of its first arrival, else where the device stands.

    Refuses a device that is not on the register at that moment (`NotOnRecord`).
    """
    before = [event.site for event in events_in_sight(connection, tag) if event.event == arrived.calibration]
    if before:
        return before[0]
    device: Device = in_force(connection, "device", tag, on=moment_told(happened_at, arrived).date()).record
    return device.site


def device_to_change(connection: Connection, happened: Happened, sites: frozenset[str] | None) -> Revision[Device]:
    """Return the device that a person tells something of, as registered at that moment; refuses as `change_device` does."""
    if is_ahead(happened.happened_at, happened.arrived):
        raise NotYet(
            f"{happened.happened_at.isoformat()} has not come yet.", happened_at=happened.happened_at.isoformat()
        )
    device = in_force(connection, "device", happened.device, on=happened.counts_from.date())
    check_own_site(device.record.site, sites)
    if device.record.state == "retired":
        raise DeviceRetired(f"{happened.device} is retired, for good.", device=happened.device)
    return device


def _revisions(
    connection: Connection, happened: Happened, change: ChangeOfDevice, device: Revision[Device]
) -> list[RegisterChange]:
    """The revisions to be made: from the day itself, and from each later day on which something else came to hold."""
    chain = chain_of(connection, "device", happened.device)
    day, last = happened.counts_from.date(), _last(connection, happened, change, device.record)
    later = _to_be_changed(chain, day, last, device.record, change.fields)
    days = _days_from(chain, day) if change.for_good else later
    return [
        RegisterChange("device", happened.device, day, change.changed(holds), arrived.by_whom, arrived.recorded_at)
        for arrived in (happened.arrived,)
        for day, holds in days
    ]


def _last(connection: Connection, happened: Happened, change: ChangeOfDevice, device: Device) -> date | None:
    """The day of the next event that speaks of the same; of two at one moment the id decides, not the order of telling."""
    own = happened.counts_from, happened.event
    told = [e for e in events_of(connection, *device.tags) if e.kind in change.kinds]
    return min((e.happened_on for e in told if (e.counts_from, e.event) > own), default=None)


def _days_from(chain: Chain, day: date) -> list[tuple[date, Device]]:
    """A day and every later one on which something else came to hold, with what holds then."""
    days = sorted({day, *(revision.valid_from for revision in chain if revision.valid_from > day)})
    return [(each, holds.record) for each in days if (holds := standing_on(chain, each)) is not None]


def _to_be_changed(
    chain: Chain, day: date, last: date | None, before: Device, fields: Sequence[str]
) -> list[tuple[date, Device]]:
    found = []
    for each, holds in _days_from(chain, day):
        if (last is not None and each >= last) or _differs(holds, before, fields):
            break
        found.append((each, holds))
    return found


def _differs(holds: Device, before: Device, fields: Sequence[str]) -> bool:
    return any(getattr(holds, name) != getattr(before, name) for name in fields)


def _entry(happened: Happened, kind: str, sealed: str, kept: Draft | Revision[Any] | None) -> Draft:
    """The one entry of the event; of the revision it carries what it touched and its digests."""
    arrived = happened.arrived
    draft = Draft(kind, arrived.by_whom, arrived.received_at, touched_by(happened), sealed)
    if not isinstance(kept, Draft):  # the register says so already
        return draft
    touched = (*(t for t in draft.touched if t.kind != "device"), *kept.touched)
    return replace(draft, touched=touched, digests={**kept.digests, "register": kept.sealed}, changes_register=True)
