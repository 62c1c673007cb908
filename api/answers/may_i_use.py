"""May I use this scale? Gathers everything on file that speaks to it, and asks the one pure function."""

from collections.abc import Sequence
from datetime import date, datetime
from decimal import Decimal

from sqlalchemy import Connection

from api.answers.device_events import open_events, standing_from
from api.answers.due import due_from
from api.answers.left_as import configuration_after, lock_required, unit_left
from api.answers.local_day import was_by, zone_of
from api.metrology.device_events import OpenEvent, open_sentence
from api.metrology.judgement import ProvenRange
from api.metrology.mass import METRIC
from api.metrology.use import LastResult, PersonsLimit, Use, UseFacts
from api.metrology.use import use_of as answer_of
from api.metrology.verdict import WORST_FIRST
from api.queries.calibrations import history_of
from api.queries.device_events import events_of
from api.queries.register import find_in_force, in_force
from api.records.calibration import Calibration
from api.records.device import Device, DeviceModel
from api.records.device_event import DeviceEvent
from api.records.place import Site
from api.records.register import Revision


def use_of(connection: Connection, tag: str, *, on: date) -> Use:
    """Return whether a device may be used on a day; refuses a device not on the register then (`NotOnRecord`)."""
    device = in_force(connection, "device", tag, on=on)
    return use_from(connection, device, history_of(connection, *device.record.tags), on)


def use_from(connection: Connection, device: Revision[Device], history: Sequence[Calibration], on: date) -> Use:
    """Return the answer for a device whose history was already read."""
    told = events_of(connection, *device.record.tags)
    return use_with(connection, device, history, standing_from(connection, device.record, told, history, on), on)


def use_with(
    connection: Connection,
    device: Revision[Device],
    history: Sequence[Calibration],
    events: Sequence[DeviceEvent],
    on: date,
) -> Use:
    """Return the answer for a device whose history and events, as they stand on the day, were already read."""
    counted = [c for c in history if c.counts]
    zone = zone_of(connection, device.record, on)
    past = [c for c in counted if was_by(c, on, zone) or clock_in_doubt(c)]
    return answer_of(_facts(connection, device.record, sorted(past, key=_newest_first), events, on))


def _newest_first(calibration: Calibration) -> tuple[float, int]:
    """By the moment of the visit; of two at the same moment the worse counts first."""
    return -_begun(calibration).timestamp(), WORST_FIRST.index(calibration.as_left or "pass")


def _begun(calibration: Calibration) -> datetime:
    return datetime.fromisoformat(calibration.performed_from)


def clock_in_doubt(calibration: Calibration) -> bool:
    """Whether the moment of the visit cannot be relied on: then it is never too old to be bad news."""
    return calibration.standing == "provisional" and any(flag.code in _CLOCK_FLAGS for flag in calibration.flags)


_CLOCK_FLAGS = ("clock-off", "performed-in-future", "ends-before-start")


def _facts(
    connection: Connection, device: Device, past: Sequence[Calibration], events: Sequence[DeviceEvent], on: date
) -> UseFacts:
    """Good news comes from the newest released result; bad news from anything since, reviewed or not."""
    model = find_in_force(connection, "model", device.model, on=on)
    site = find_in_force(connection, "site", device.site, on=on)
    released = next((c for c in past if c.standing == "released" and c.as_left is not None), None)
    since = [c for c in past if c is not released and _is_since(c, released)]
    unreviewed = _worst([c for c in since if c.standing == "provisional" and c.as_left is not None])
    return UseFacts(
        on=on,
        state=device.state,
        capacity_kg=_capacity(model.record) if model else Decimal("Infinity"),
        released=_result(released) if released else None,
        unreviewed=_result(unreviewed) if unreviewed else None,
        due=due_from(device, past, on).due,
        electrical_safety_due=device.electrical_safety_due,
        legal_verification_required=site.record.legal_verification_required if site else False,
        legal_verification_until=device.legal_verification_until,
        unit_left=_unit(released, since),
        unit_locked=_lock(released, since),
        unit_lock_required=lock_required(device, model),
        limit=_limit(device),
        decision=_decision(released, since),
        open_events=(*open_events(events), *_moves(device, site, released, events), *_out_of_order(since)),
    )


def _is_since(calibration: Calibration, released: Calibration | None) -> bool:
    """An amendment of the newest released result is never too old to be bad news, whatever moment it gives the visit."""
    if released is None or clock_in_doubt(calibration) or _begun(calibration) >= _begun(released):
        return True
    return (calibration.site, calibration.calibration) == (released.site, released.calibration)


def _worst(results: Sequence[Calibration]) -> Calibration | None:
    return min(results, key=lambda c: WORST_FIRST.index(c.as_left or "pass"), default=None)


def _result(calibration: Calibration) -> LastResult:
    assert calibration.as_left is not None
    proven = calibration.working.get("as_left", {}).get("proven")
    found = ProvenRange(Decimal(proven["from_kg"]), Decimal(proven["to_kg"])) if proven else None
    return LastResult(date.fromisoformat(calibration.performed_on), calibration.as_left, found)


def _capacity(model: DeviceModel) -> Decimal:
    """The least of the capacities of the units it shows: what may be put on it whichever unit is shown."""
    tops: dict[str, Decimal] = {}
    for r in model.ranges:
        tops[r.max.unit] = max(tops.get(r.max.unit, Decimal(0)), r.max.kg)
    return min(tops.values())


def _unit(released: Calibration | None, since: Sequence[Calibration]) -> str | None:
    """The unit it was left in at the newest released result; a wrong one seen since counts at once."""
    seen = [unit for c in since if (unit := unit_left(c)) is not None and unit not in METRIC]
    return seen[0] if seen else (unit_left(released) if released else None)


def _lock(released: Calibration | None, since: Sequence[Calibration]) -> bool | None:
    if any(configuration_after(c).get("unit_locked") is False for c in since):
        return False
    return configuration_after(released).get("unit_locked") if released else None


def _limit(device: Device) -> PersonsLimit | None:
    limit = device.limit
    return PersonsLimit(limit.up_to.kg, limit.until, limit.decided_by) if limit else None


_RESTRICTING = ("retire", "send for repair", "hold back", "return limited")


def _decision(released: Calibration | None, since: Sequence[Calibration]) -> str | None:
    """What was decided about it: the newest restriction since the newest released result, else what that visit decided."""
    restricting = [d for c in since if (d := c.content.get("decision")) in _RESTRICTING]
    return restricting[0] if restricting else (released.content.get("decision") if released else None)


def _moves(
    device: Device, site: Revision[Site] | None, released: Calibration | None, events: Sequence[DeviceEvent]
) -> list[OpenEvent]:
    """A move is read from the register; one that was told as an event stands among the events, open or closed."""
    if site is None:
        return [OpenEvent("site unknown", open_sentence("site unknown", device.in_place_since))]
    if released is None or any(_is_of(event, device) for event in events):
        return []
    if device.site != released.site:
        said = f"It was moved from {released.site} to {device.site} after it was last calibrated."
        return [OpenEvent("moved on the register", said)]
    if device.in_place_since.isoformat() <= released.performed_on:
        return []
    return [OpenEvent("moved on the register", open_sentence("moved on the register", device.in_place_since))]


def _is_of(event: DeviceEvent, device: Device) -> bool:
    """Whether an event is the move by which a device came to where the register has it."""
    where = tuple(event.content.get(name) for name in ("site", "ward", "place"))
    moved = event.kind == "move" and where == (device.site, device.ward, device.place)
    return moved and event.happened_on == device.in_place_since


def _out_of_order(since: Sequence[Calibration]) -> list[OpenEvent]:
    found = [c for c in since if any(flag.code == "check-not-in-order" for flag in c.flags)]
    return [OpenEvent("not in order", open_sentence("not in order", date.fromisoformat(c.performed_on))) for c in found]
