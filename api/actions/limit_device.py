"""Limit a device in writing: up to which load a person lets it be used, why, and until which day at the latest."""

from dataclasses import replace

from sqlalchemy import Connection

from api.database import sites_in_sight
from api.keeping.content import Arrived
from api.keeping.device_change import ChangeOfDevice, change_device, site_of_device
from api.keeping.device_event import happened
from api.records.device import Device, LimitOfUse
from api.records.device_event import EventReceipt
from api.records.event_sent import WrittenLimit


def limit_device(connection: Connection, arrived: Arrived, sent: WrittenLimit, tag: str) -> EventReceipt:
    """Put a person's limit on a device from that moment on, and return the receipt of the event.

    It is limited then, whatever state it was in before: whoever lets it be used within a limit answers for it. What is open
    about it stays open. Refuses as `change_device` does.
    """
    site = site_of_device(connection, tag, arrived, sent.happened_at)
    told = happened(connection, arrived, site, "limit", "limited", tag, sent.happened_at)
    limit = LimitOfUse(sent.up_to, sent.reason, arrived.by_whom, sent.until)

    def limited(device: Device) -> Device:
        return replace(device, state="limited", state_reason=sent.reason, limit=limit)

    fields = ("state", "state_reason", "limit")
    change = ChangeOfDevice("device limited", (sent.reason,), limited, fields, ("state", "limit"))
    return change_device(connection, told, change, sites_in_sight(connection))
