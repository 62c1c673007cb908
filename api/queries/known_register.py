"""What the register knows that a file of old records alone does not say: tags, serials, time zones."""

from sqlalchemy import Connection

from api.queries.register import all_chains
from api.records.import_visit import Known


def known_on_register(connection: Connection) -> Known:
    """Return every tag that the register ever knew, the serial of each, and each site's time zone."""
    devices = {chain[-1].key: chain[-1].record for chain in all_chains(connection, "device")}
    former = {tag for device in devices.values() for tag in device.tags}
    serials = {tag: device.serial for tag, device in devices.items() if device.serial is not None}
    zones = {chain[-1].key: chain[-1].record.time_zone for chain in all_chains(connection, "site")}
    return Known(frozenset(former | set(devices)), serials, zones)
