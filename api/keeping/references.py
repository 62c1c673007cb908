"""What an entity names must be on the register before it: nothing is lost by refusing it, and pages rest on it."""

from collections.abc import Iterator

from sqlalchemy import Connection

from api.keeping.register_change import RegisterChange
from api.queries.register import find_in_force
from api.records.device import Device
from api.records.place import Ward
from api.records.problems import ReferenceMissing
from api.records.register import Entity
from api.records.weight import Weight, WeightCertificate, WeightSet


def check_references(connection: Connection, change: RegisterChange) -> None:
    """Refuse an entity that names others which are not on the register on the day from which it holds, all at once."""
    missing = [
        f"{kind} {key!r}"
        for kind, key in dict.fromkeys(_named(change.record))
        if find_in_force(connection, kind, key, on=change.valid_from) is None
    ]
    if missing:
        listed = ", ".join(missing)
        said = f"{change.key!r} names what is not on the register on {change.valid_from.isoformat()}: {listed}."
        raise ReferenceMissing(f"{said} Put it there first, valid from that day or earlier.", missing=listed)
    if isinstance(change.record, Device):
        _check_ward(connection, change, change.record)


def _named(record: Entity) -> Iterator[tuple[str, str]]:
    if isinstance(record, (Ward, Device, Weight, WeightSet)):
        yield "site", record.site
    if isinstance(record, Device):
        yield "model", record.model
        yield "ward", record.ward
        if record.tolerance.house_rule is not None:
            yield "house rule", record.tolerance.house_rule
    if isinstance(record, WeightSet):
        yield from (("weight", member.piece) for member in record.members)
    if isinstance(record, WeightCertificate):
        yield from (("weight", entry.piece) for entry in record.pieces)


def _check_ward(connection: Connection, change: RegisterChange, device: Device) -> None:
    ward = find_in_force(connection, "ward", device.ward, on=change.valid_from)
    if ward is not None and ward.record.site != device.site:
        said = f"Ward {device.ward!r} belongs to site {ward.record.site!r}, the device to {device.site!r}."
        raise ReferenceMissing(f"{said} Name a ward of the device's own site.", ward=device.ward)
