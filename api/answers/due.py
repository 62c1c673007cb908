"""When devices are due: from the last released calibration that left them within tolerance."""

from collections.abc import Sequence
from datetime import date

from sqlalchemy import Connection

from api.metrology.due_date import due_date
from api.queries.calibration_lists import visits_of
from api.queries.calibrations import history_of
from api.queries.devices import devices_in_force
from api.queries.register import in_force
from api.records.calibration import Calibration, CalibrationListed
from api.records.device import Device
from api.records.due import Due, DueState
from api.records.listing import Place

History = Sequence[Calibration] | Sequence[CalibrationListed]


def due_of(connection: Connection, tag: str, *, on: date) -> Due:
    """Return when a device is due, as it stands on a day; refuses a device not on the register then (`NotOnRecord`)."""
    device: Device = in_force(connection, "device", tag, on=on).record
    return due_from(device, history_of(connection, *device.tags), on)


def due_list(
    connection: Connection,
    *,
    on: date,
    site: str | None = None,
    ward: str | None = None,
    state: DueState | None = None,
    within_days: int | None = None,
) -> list[Due]:
    """Return every device that is not retired, the longest due first; of a site, a ward, in a state, where that is asked."""
    devices = [revision.record for revision in devices_in_force(connection, on=on)]
    asked = [d for d in devices if d.state != "retired" and site in (None, d.site) and ward in (None, d.ward)]
    visits = visits_of(connection, asked)
    listed = [due_from(device, visits[device.tag], on) for device in asked]
    if within_days is not None:
        listed = [d for d in listed if d.due is not None and (d.due - on).days <= within_days]
    return sorted((d for d in listed if state in (None, d.state)), key=due_place)


def due_place(due: Due) -> Place:
    """Return where a device stands in a list of what is due: by its day, then by its tag."""
    return (due.due or date.max).isoformat(), due.device


def due_from(device: Device, history: History, on: date) -> Due:
    """Return when a device is due, from its calibrations up to a day."""
    good = last_good_day(history, on)
    if device.state == "retired":
        return Due(device.tag, device.site, device.ward, None, "retired", "It is retired.", good)
    if good is None:
        return Due(
            device.tag, device.site, device.ward, device.on_register_since, "never calibrated",
            "No released calibration has left it within tolerance: due since it is on the register.",
        )  # fmt: skip
    due = due_date(good, device.interval_months)
    basis = f"{device.interval_months} months after {good.isoformat()}, when it was last left within tolerance."
    return Due(device.tag, device.site, device.ward, due, _state(due, on), basis, good)


def last_good_day(history: History, on: date) -> date | None:
    """Return the day of the last released calibration up to a day that left the device within tolerance."""
    days = [
        date.fromisoformat(c.performed_on)
        for c in history
        if c.standing == "released" and c.as_left in ("pass", "conditional pass")
    ]
    return max((day for day in days if day <= on), default=None)


def _state(due: date, on: date) -> DueState:
    if due == on:
        return "due today"
    return "overdue" if due < on else "not yet due"
