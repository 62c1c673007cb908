"""What there is to look at about an event: flags only, nothing refused. It is kept, and it counts, all the same."""

from datetime import datetime
from zoneinfo import ZoneInfo

from sqlalchemy import Connection

from api.database import sites_in_sight
from api.keeping.content import Arrived
from api.keeping.judge_on_file import MOST_AHEAD_SECONDS
from api.keeping.person_like import person_like
from api.keeping.register_checks import before_known, unknown
from api.metrology.judgement import Flag
from api.queries.register import find_in_force
from api.records.clocks import corrected, is_off, offset_of
from api.records.device import Device
from api.records.register import Revision


def moment_told(happened_at: datetime, arrived: Arrived) -> datetime:
    """Return when an event was, with the sender's own offset from UTC.

    Corrected where the clocks were apart; and nothing that was received has yet to happen.
    """
    moment = corrected(happened_at, offset_of(arrived.received_at, arrived.sent_at))
    return min(moment, arrived.received_at.astimezone(happened_at.tzinfo))


def moment_that_counts(connection: Connection, site: str, happened_at: datetime, arrived: Arrived) -> datetime:
    """Return the moment from which an event counts, by the clocks of its site; by the sender's where that is not known.

    Its day is the day there: told in UTC on an evening, it does not wait for midnight.
    """
    moment = moment_told(happened_at, arrived)
    place = find_in_force(connection, "site", site, on=arrived.received_at.date())
    return moment.astimezone(ZoneInfo(place.record.time_zone)) if place else moment


def is_ahead(happened_at: datetime, arrived: Arrived) -> bool:
    """Return whether an event is told with a moment that had not come when it was received, by more than clocks differ."""
    moment = corrected(happened_at, offset_of(arrived.received_at, arrived.sent_at))
    return (moment - arrived.received_at).total_seconds() > MOST_AHEAD_SECONDS


def flags_of_event(
    connection: Connection, arrived: Arrived, site: str, tag: str, happened_at: datetime
) -> tuple[Revision[Device] | None, list[Flag]]:
    """Return the device as registered on the day of an event, None where it is not, and everything to look at."""
    day = moment_that_counts(connection, site, happened_at, arrived).date()
    device = find_in_force(connection, "device", tag, on=day)
    flags = [*_site_flags(connection, site, arrived, happened_at), *person_like(arrived.content)]
    if device is None:
        sites = sites_in_sight(connection)
        found = before_known(connection, "device", tag, day, "#/device")
        return None, [found or unknown("unknown-device", "device", tag, "#/device", sites), *flags]
    if device.record.state == "retired":
        flags.append(Flag("device-retired", f"{tag} was retired before that day.", {}, "#/device"))
    if device.record.site != site:
        said = f"It was told at {site}; the register has {tag} at {device.record.site} that day."
        flags.append(Flag("site-differs", said, {"told": site, "register": device.record.site}, "#/site"))
    return device, flags


def _site_flags(connection: Connection, site: str, arrived: Arrived, happened_at: datetime) -> list[Flag]:
    flags = []
    day = moment_that_counts(connection, site, happened_at, arrived).date()
    if find_in_force(connection, "site", site, on=day) is None:
        flags.append(unknown("unknown-site", "site", site, "#/site"))
    offset = offset_of(arrived.received_at, arrived.sent_at)
    if offset is not None and is_off(offset):
        said = f"The sender's clock and the service's were {offset:.0f} s apart when it was sent."
        flags.append(Flag("clock-off", said, {"offset": f"{offset:.0f} s"}, "#/happened_at"))
    if is_ahead(happened_at, arrived):
        said = "It is told with a moment after it was received: it counts from then on."
        flags.append(Flag("happened-in-future", said, {}, "#/happened_at"))
    return flags
