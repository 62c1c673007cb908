"""Where the events of a device stand on a day: what is open, and what closed the rest. Derived, and stored nowhere."""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

from sqlalchemy import Connection

from api.answers.left_as import configuration_after, lock_required, unit_left
from api.answers.local_day import local_day, was_by, zone_of
from api.metrology.device_events import LaterResult, OpenEvent, OpenKind, closing_result, open_sentence
from api.queries.calibrations import history_of
from api.queries.device_events import EventsAsked, events_asked, events_in_sight, events_of
from api.queries.register import Chain, chain_of, find_in_force, standing_on
from api.records.calibration import Calibration
from api.records.device import Device
from api.records.device_event import Closing, DeviceEvent
from api.records.documents import read_mass


def events_of_device(connection: Connection, tag: str, *, on: date) -> tuple[DeviceEvent, ...]:
    """Return the events of a device that a connection sees, the newest first, each with where it stands on a day."""
    device = find_in_force(connection, "device", tag, on=on)
    tags = device.record.tags if device else (tag,)
    seen = {(told.site, told.event) for told in events_in_sight(connection, *tags)}
    found = standing_of(connection, device.record if device else None, tags, on)
    return tuple(event for event in found if (event.site, event.event) in seen)


def events_listed(
    connection: Connection, asked: EventsAsked, *, at: datetime, on: date | None = None
) -> tuple[DeviceEvent, ...]:
    """Return the events that a connection sees and that are asked for, the newest first, each with where it stands on a day.

    Where no day is named it is the day at each device: what was told this morning is open at once, wherever it is morning.
    """
    listed: dict[tuple[str, str], DeviceEvent] = {}
    seen = events_asked(connection, asked)
    for tag in dict.fromkeys(told.device for told in seen):
        day = on or local_day(connection, tag, at)
        device = find_in_force(connection, "device", tag, on=day)
        tags = device.record.tags if device else (tag,)
        for event in standing_of(connection, device.record if device else None, tags, day):
            listed[event.site, event.event] = event
    return tuple(listed[told.site, told.event] for told in seen)


def standing_of_event(connection: Connection, told: DeviceEvent, *, on: date) -> DeviceEvent:
    """Return one event, as the record has it, with where it stands on a day."""
    device = find_in_force(connection, "device", told.device, on=on)
    tags = device.record.tags if device else (told.device,)
    found = standing_of(connection, device.record if device else None, tags, on)
    return next(event for event in found if (event.site, event.event) == (told.site, told.event))


def standing_of(
    connection: Connection, device: Device | None, tags: Sequence[str], on: date
) -> tuple[DeviceEvent, ...]:
    """Return all events of a device, read with its history."""
    told = events_of(connection, *tags)
    history = history_of(connection, *tags) if told else ()
    return standing_from(connection, device, told, history, on)


def standing_from(
    connection: Connection,
    device: Device | None,
    told: Sequence[DeviceEvent],
    history: Iterable[Calibration],
    on: date,
) -> tuple[DeviceEvent, ...]:
    """Return events that were read before, with their device's history, each with where it stands on a day."""
    if not told:
        return ()
    zone = zone_of(connection, device, on)
    past = [c for c in history if was_by(c, on, zone)]
    chain = chain_of(connection, "device", device.tag) if device else ()
    results = [_result(c, chain) for c in past if c.standing == "released" and not c.is_partial]
    locked = device is None or lock_required(device, find_in_force(connection, "model", device.model, on=on))
    returned = [e for e in told if e.kind == "repair" and e.what == "returned" and e.happened_on <= on]
    return tuple(_standing(event, results, returned, locked, zone, on) for event in told)


def _standing(
    told: DeviceEvent,
    results: Sequence[LaterResult],
    returned: Sequence[DeviceEvent],
    locked: bool,
    zone: ZoneInfo | None,
    on: date,
) -> DeviceEvent:
    kind = told.leaves_open
    if kind is None:
        return told
    closed = [
        *_by_person(told, zone, on),
        *_by_result(kind, told, results, locked),
        *(_by_return(told, returned) if kind == "sent for repair" else ()),
    ]
    first = min(closed, key=lambda closing: closing.closed_at, default=None)
    return replace(told, open=first is None and told.happened_on <= on, closed=first)


def _by_person(told: DeviceEvent, zone: ZoneInfo | None, on: date) -> list[Closing]:
    """A person's closing counts from its day on, as the clocks are where the device stands."""
    if told.closed is None or told.closed.closed_at.astimezone(zone or UTC).date() > on:
        return []
    return [told.closed]


def _by_result(kind: OpenKind, told: DeviceEvent, results: Sequence[LaterResult], locked: bool) -> list[Closing]:
    found = closing_result(kind, told.counts_from, results, lock_required=locked)
    return [Closing("a calibration", found.begun, calibration=found.calibration)] if found else []


def _by_return(told: DeviceEvent, returned: Sequence[DeviceEvent]) -> list[Closing]:
    after = [event for event in returned if event.counts_from >= told.counts_from]
    return [Closing("its return", event.counts_from, event.recorded_by) for event in after]


def _result(calibration: Calibration, chain: Chain) -> LaterResult:
    begun = datetime.fromisoformat(calibration.corrected_from or calibration.performed_from)
    after = configuration_after(calibration)
    unit, then = unit_left(calibration), standing_on(chain, date.fromisoformat(calibration.performed_on))
    stood = then is None or then.record.site == calibration.site
    return LaterResult(calibration.calibration, begun, calibration.as_left, unit, after.get("unit_locked"), stood)


def open_events(events: Iterable[DeviceEvent]) -> tuple[OpenEvent, ...]:
    """Return what is open among events, as the facts on which a use answer rests, the newest first."""
    return tuple(
        OpenEvent(event.leaves_open, open_sentence(event.leaves_open, event.happened_on, _more(event)))
        for event in events
        if event.open and event.leaves_open
    )


def _more(told: DeviceEvent) -> str:
    """What only this event can say: where it was moved, what was placed and shown, that a seal was broken."""
    content = told.content
    if told.kind == "move":
        return f", to {content['site']}, {content['ward']}, {content['place']}"
    if told.kind == "check":
        return f": it showed {read_mass(content['indication']).shown} with {_load(told)} on it"
    return "; its seal was broken" if told.kind == "repair" and content.get("seal_broken") else ""


def _load(told: DeviceEvent) -> str:
    known = told.content.get("known")
    if known:
        return read_mass(known["mass"]).shown
    points = (told.working or {}).get("as_found", {}).get("points", [])
    return f"{points[0]['nominal_kg']} kg" if points else "a known load"
