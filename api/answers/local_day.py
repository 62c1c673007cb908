"""Which day it is where a device stands: a scale falls due at its own midnight, and what happened there is not tomorrow's."""

from datetime import date, datetime
from zoneinfo import ZoneInfo

from sqlalchemy import Connection

from api.queries.register import find_in_force
from api.records.calibration import Calibration
from api.records.device import Device


def local_day(connection: Connection, tag: str, moment: datetime) -> date:
    """Return the day at the site of a device, or in UTC where its site is not on the register."""
    on = moment.date()
    device = find_in_force(connection, "device", tag, on=on)
    site = find_in_force(connection, "site", device.record.site, on=on) if device else None
    return moment.astimezone(ZoneInfo(site.record.time_zone)).date() if site else on


def zone_of(connection: Connection, device: Device | None, on: date) -> ZoneInfo | None:
    """Return the time zone in which a device stands on a day, None where its site is not on the register."""
    site = find_in_force(connection, "site", device.site, on=on) if device else None
    return ZoneInfo(site.record.time_zone) if site else None


def was_by(visit: Calibration, on: date, zone: ZoneInfo | None) -> bool:
    """Return whether a visit had begun by the end of a day, as the app has the day or as it is where the device stands.

    A visit told in UTC on an evening has the next day's date, and yet its bad news counts at once.
    """
    begun = datetime.fromisoformat(visit.performed_from)
    return date.fromisoformat(visit.performed_on) <= on or (zone is not None and begun.astimezone(zone).date() <= on)
