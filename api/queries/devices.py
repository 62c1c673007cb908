"""The devices that stand on the register on a day, each once: a tag that was replaced is a former tag of another entry."""

from datetime import date

from sqlalchemy import Connection

from api.queries.register import all_in_force, find_in_force
from api.records.device import Device
from api.records.register import Revision


def devices_in_force(connection: Connection, *, on: date) -> list[Revision[Device]]:
    """Return every device in force on a day, by tag, without those that go by another tag since."""
    registered = all_in_force(connection, "device", on=on)
    former = {tag for device in registered for tag in device.record.previous_tags}
    return [device for device in registered if device.key not in former]


def tags_of(connection: Connection, tag: str, *, on: date) -> tuple[str, ...]:
    """Return the tags under which a device's history stands: the one given alone where no such device is in sight."""
    device = find_in_force(connection, "device", tag, on=on)
    return device.record.tags if device else (tag,)
