"""Which day it is where a device stands: a scale falls due at its own midnight."""

from datetime import date, datetime
from zoneinfo import ZoneInfo

from sqlalchemy import Connection

from api.queries.register import find_in_force


def local_day(connection: Connection, tag: str, moment: datetime) -> date:
    """Return the day at the site of a device, or in UTC where its site is not on the register."""
    on = moment.date()
    device = find_in_force(connection, "device", tag, on=on)
    site = find_in_force(connection, "site", device.record.site, on=on) if device else None
    return moment.astimezone(ZoneInfo(site.record.time_zone)).date() if site else on
