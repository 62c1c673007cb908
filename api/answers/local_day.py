"""Which day it is where a device stands: a scale falls due at its own midnight, and what happened there is not tomorrow's."""

from datetime import date, datetime
from zoneinfo import ZoneInfo

from sqlalchemy import Connection

from api.queries.register import find_in_force
from api.records.calibration import Calibration, CalibrationListed
from api.records.device import Device


def local_day(connection: Connection, tag: str, moment: datetime) -> date:
    """Return the day at the site of a device, or in UTC where its site is not on the register."""
    device = find_in_force(connection, "device", tag, on=moment.date())
    return local_day_at(connection, device.record.site, moment) if device else moment.date()


def local_day_at(connection: Connection, site: str, moment: datetime) -> date:
    """Return the day at a site, or in UTC where it is not on the register."""
    found = find_in_force(connection, "site", site, on=moment.date())
    return moment.astimezone(ZoneInfo(found.record.time_zone)).date() if found else moment.date()


def zone_of(connection: Connection, device: Device | None, on: date) -> ZoneInfo | None:
    """Return the time zone in which a device stands on a day, None where its site is not on the register."""
    site = find_in_force(connection, "site", device.site, on=on) if device else None
    return ZoneInfo(site.record.time_zone) if site else None


def was_by(visit: Calibration | CalibrationListed, on: date, zone: ZoneInfo | None) -> bool:
    """Return whether a visit had begun by the end of a day, as the app has the day or as it is where the device stands.

    A visit told in UTC on an evening has the next day's date, and yet its bad news counts at once.
    """
    begun = visit.performed_from
    begun = datetime.fromisoformat(begun) if isinstance(begun, str) else begun
    return date.fromisoformat(visit.performed_on) <= on or (zone is not None and begun.astimezone(zone).date() <= on)
