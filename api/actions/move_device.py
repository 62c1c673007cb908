"""Move a device: it stands elsewhere on the register from that moment on, and is not to be used before it is calibrated."""

from dataclasses import replace

from sqlalchemy import Connection

from api.database import sites_in_sight
from api.keeping.content import Arrived
from api.keeping.device_change import ChangeOfDevice, change_device
from api.keeping.device_event import happened
from api.records.device import Device
from api.records.device_event import EventReceipt
from api.records.event_sent import DeviceMove


def move_device(connection: Connection, arrived: Arrived, sent: DeviceMove, tag: str) -> EventReceipt:
    """Put a device where it was moved to, and return the receipt of the event. Refuses as `change_device` does."""
    told = happened(connection, arrived, sent.site, "move", "moved", tag, sent.happened_at)
    since = told.counts_from.date()

    def moved(device: Device) -> Device:
        return replace(device, site=sent.site, ward=sent.ward, place=sent.place, in_place_since=since)

    fields = ("site", "ward", "place", "in_place_since")
    change = ChangeOfDevice("device moved", (sent.place, sent.reason), moved, fields, ("move",))
    return change_device(connection, told, change, sites_in_sight(connection))
