"""The scales of a bundle: each with what its newest visits left and left open, read for all of them at once.

Whether a scale may be used and when it is due follows from its whole history. Of that only what can still matter is read
whole: visits from the last good one on, and whatever is not reviewed. The rest is read in short.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from sqlalchemy import Connection

from api.answers.device_events import standing_from
from api.answers.due import due_from, last_good_day
from api.answers.local_day import was_by, zone_of
from api.answers.may_i_use import use_with
from api.answers.plan import digest_of_plan, facts_for
from api.metrology.plan import plan_of
from api.metrology.plan_steps import Plan, PlanFacts
from api.metrology.refusals import Refusal
from api.queries.calibration_lists import kept_whole, visits_of
from api.queries.device_events import events_by_device
from api.queries.judged_points import Points, points_of
from api.records.bundle import BundleAsked, BundledDevice, LastLeft, OpenFlag
from api.records.calibration import STANDS, Calibration, CalibrationListed
from api.records.device import Device
from api.records.device_event import DeviceEvent
from api.records.plan import PlanAsked
from api.records.register import Revision

Devices = Sequence[Revision[Device]]
Visits = tuple[CalibrationListed, ...]


@dataclass(frozen=True, slots=True)
class Read:
    """What was read for the scales together: visits in short and events by tag, the last visits, all that matter whole."""

    visits: dict[str, Visits]
    events: dict[str, tuple[DeviceEvent, ...]]
    last: dict[str, CalibrationListed | None]
    whole: dict[tuple[str, str, int], Calibration]
    points: Points


def scales_offline(connection: Connection, devices: Devices, asked: BundleAsked) -> tuple[list[BundledDevice], int]:
    """Return the scales, and the number of the newest log entry that their visits and events rest on."""
    read = _read(connection, devices, asked.on)
    visits = [visit.log_number for found in read.visits.values() for visit in found]
    events = [event.log_number for found in read.events.values() for event in found]
    newest = max(visits + events, default=0)
    plans = _Plans(connection, asked)
    return [_scale(connection, device, read, plans, asked.on) for device in devices], newest


def _read(connection: Connection, devices: Devices, on: date) -> Read:
    records = [device.record for device in devices]
    visits, events = visits_of(connection, records), events_by_device(connection, records)
    mattering = [visit for tag, found in visits.items() for visit in _mattering(found, events[tag], on)]
    last = {d.key: _last_judged(visits[d.key], on, zone_of(connection, d.record, on)) for d in devices}
    points = points_of(connection, [visit for visit in last.values() if visit is not None])
    return Read(visits, events, last, kept_whole(connection, mattering), points)


def _mattering(visits: Visits, events: Sequence[DeviceEvent], on: date) -> list[CalibrationListed]:
    """From the last good visit on, with whatever is provisional: its clock may be in doubt, and bad news is never too old.

    All of them where something happened to the scale that any of them may have closed.
    """
    standing, good = [v for v in visits if v.standing in STANDS], last_good_day(visits, on)
    if good is None or any(event.leaves_open for event in events):
        return standing
    begin = (good - timedelta(days=2)).isoformat()  # days are told by clocks of several zones
    return [v for v in standing if v.performed_on >= begin or v.standing == "provisional"]


def _last_judged(visits: Visits, on: date, zone: ZoneInfo | None) -> CalibrationListed | None:
    counted = (v for v in visits if v.standing in STANDS and was_by(v, on, zone))
    return next((v for v in counted if v.as_left is not None), None)


def _scale(connection: Connection, device: Revision[Device], read: Read, plans: "_Plans", on: date) -> BundledDevice:
    visits, events = read.visits[device.key], read.events[device.key]
    known = [read.whole[v.site, v.calibration, v.revision] for v in _mattering(visits, events, on)]
    standing = standing_from(connection, device.record, events, known, on)
    return BundledDevice(
        device.key, device.number, device.valid_from, device.record,
        due_from(device.record, visits, on), use_with(connection, device, known, standing, on), **plans.of(device.key),
        last_left=_left(read.last[device.key], read.points), open_flags=_open(known),
    )  # fmt: skip


class _Plans:
    """Plans, each worked out once: scales of one model in one ward mostly differ by their tag alone."""

    def __init__(self, connection: Connection, asked: BundleAsked) -> None:
        self._connection, self._asked = connection, asked
        self._made: dict[PlanFacts, Plan] = {}

    def of(self, tag: str) -> dict[str, Any]:
        """The plan with the set that is taken along; without pieces where that does not do: the loads stay the same."""
        try:
            return self._told(tag, self._asked.weight_set)
        except Refusal as refusal:
            if self._asked.weight_set is None:
                return {"why_no_plan": refusal.sentence}
            why = {"why_no_pieces": refusal.sentence}
        try:
            return self._told(tag, None) | why
        except Refusal as refusal:
            return {"why_no_plan": refusal.sentence}

    def _told(self, tag: str, weight_set: str | None) -> dict[str, Any]:
        wanted = PlanAsked(self._asked.on, weight_set, self._asked.technician)
        facts = replace(facts_for(self._connection, tag, wanted), device="")
        made = self._made.get(facts)
        if made is None:
            made = self._made[facts] = plan_of(facts)
        plan = replace(made, device=tag)
        return {"plan": plan, "plan_digest": digest_of_plan(plan)}


def _left(last: CalibrationListed | None, points: Points) -> LastLeft | None:
    if last is None or last.as_left is None:
        return None
    as_left, as_found = (
        points.get((last.site, last.calibration, last.revision, phase), ()) for phase in ("as_left", "as_found")
    )
    return LastLeft(
        last.calibration, last.site, last.performed_on, last.standing, last.as_left, last.adjusted,
        "as left" if as_left else "as found, left so", as_left or as_found,
    )  # fmt: skip


def _open(known: Sequence[Calibration]) -> tuple[OpenFlag, ...]:
    return tuple(
        OpenFlag(visit.calibration, visit.performed_on, flag.code, flag.sentence)
        for visit in known if visit.standing == "provisional" for flag in visit.flags
    )  # fmt: skip
