"""Change the state of a device: held back, out of service, lent out, not found, retired, or in service again."""

from dataclasses import replace

from sqlalchemy import Connection

from api.database import sites_in_sight
from api.keeping.content import Arrived
from api.keeping.device_change import ChangeOfDevice, change_device, site_of_device
from api.keeping.device_event import happened
from api.records.device import Device
from api.records.device_event import EventReceipt
from api.records.event_sent import StateChange


def change_state(connection: Connection, arrived: Arrived, sent: StateChange, tag: str) -> EventReceipt:
    """Put a device into another state from that moment on, and return the receipt of the event.

    A limit goes with the state it was written for: in another state the device has none. Refuses as `change_device` does.
    """
    site = site_of_device(connection, tag, arrived, sent.happened_at)
    told = happened(connection, arrived, site, "state", sent.state, tag, sent.happened_at)

    def changed(device: Device) -> Device:
        return replace(device, state=sent.state, state_reason=sent.reason, limit=None)

    fields, for_good = ("state", "state_reason", "limit"), sent.state == "retired"
    change = ChangeOfDevice(f"device {sent.state}", (sent.reason,), changed, fields, ("state", "limit"), for_good)
    return change_device(connection, told, change, sites_in_sight(connection))
