"""The addresses that labels carry: claimed once and for good, a former tag's too.

A former tag may be a device of its own on the register: the same scale before it was labelled anew. It is the same scale
where its serial is the same; a tag of any other device stays that device's own.
"""

from collections.abc import Iterator
from datetime import date

from sqlalchemy import Connection, insert, select

from api.keeping.register_change import RegisterChange
from api.models.register import ADDRESS
from api.queries.register import all_in_force, revisions_in_sight
from api.records.addresses import folded
from api.records.device import Device
from api.records.problems import AddressTaken

Others = dict[str, list[Device]]


def claim_addresses(connection: Connection, change: RegisterChange, letter: str) -> None:
    """Claim the address of an entity's key, and of a device's former tags; refuses one that belongs to another."""
    address = folded(change.key)
    holder = _holder(connection, letter, address)
    if holder not in (None, change.key):
        facts = {"address": f"{letter}/{address}/"}
        told = "another"
        if revisions_in_sight(connection, change.kind, str(holder)):
            told, facts["holder"] = repr(holder), str(holder)
        raise AddressTaken(
            f"The address {letter}/{address}/ belongs to {told} for good; choose another {change.kind} code.", **facts
        )
    _claim(connection, change, letter, change.key)
    if isinstance(change.record, Device) and change.record.previous_tags:
        _claim_former_tags(connection, change, change.record, letter)


def _holder(connection: Connection, letter: str, address: str) -> str | None:
    claimed = (ADDRESS.c.letter == letter) & (ADDRESS.c.folded == address)
    return connection.scalar(select(ADDRESS.c.key).where(claimed))


def _claim(connection: Connection, change: RegisterChange, letter: str, key: str) -> None:
    if _holder(connection, letter, folded(key)) is None:
        row = {"letter": letter, "folded": folded(key), "key": change.key, "claimed_at": change.moment.isoformat()}
        connection.execute(insert(ADDRESS), row)


def _claim_former_tags(connection: Connection, change: RegisterChange, device: Device, letter: str) -> None:
    others = _other_devices(connection, change)
    held = {tag: key for tag in device.previous_tags for key in _held_by(connection, letter, device, tag, others)}
    if held:
        said = " ".join(_sentence(device, tag, key, others) for tag, key in held.items())
        facts = {"address": ", ".join(f"{letter}/{folded(tag)}/" for tag in held)}
        if told := [key for key in held.values() if key in others]:
            facts["holder"] = ", ".join(told)
        raise AddressTaken(said, **facts)
    for tag in device.previous_tags:
        _claim(connection, change, letter, tag)


def _other_devices(connection: Connection, change: RegisterChange) -> Others:
    """Every other device in sight as it is on the day of the change, and as it is in the end."""
    found: Others = {}
    for day in (change.valid_from, date.max):
        for revision in all_in_force(connection, "device", on=day):
            if revision.key != change.key:
                found.setdefault(revision.key, []).append(revision.record)
    return found


def _held_by(connection: Connection, letter: str, device: Device, tag: str, others: Others) -> Iterator[str]:
    """The devices that hold a former tag and are not the same scale; or the same scale, if it goes by this tag before."""
    address = folded(tag)
    holder = _holder(connection, letter, address)
    if holder not in (None, device.tag) and not _is_same(device, str(holder), others):
        yield str(holder)
    for key, records in others.items():
        former = {former for record in records for former in record.previous_tags}
        if address in map(folded, former) and not _is_same(device, key, others):
            yield key
        if key == tag and device.tag in former:
            yield key


def _is_same(device: Device, key: str, others: Others) -> bool:
    """Whether another entry is this scale under a former tag: it is named as one, and its serial is the same."""
    return key in device.previous_tags and any(other.serial == device.serial for other in others.get(key, ()))


def _sentence(device: Device, tag: str, key: str, others: Others) -> str:
    records = others.get(key, [])
    if not records:  # of another site, or on the register at another time
        return f"The former tag {tag!r} belongs to another device; leave it out."
    serial = f" (serial {records[-1].serial})"
    if any(device.tag in record.previous_tags for record in records):
        return f"Device {key!r}{serial} has {device.tag!r} as a former tag: of the two, only the newer names the other."
    return (
        f"The former tag {tag!r} belongs to device {key!r}{serial}; this device has serial {device.serial}. Leave it out, "
        f"or, if {key!r} is this scale before it was labelled anew, name that tag and give both the same serial."
    )
