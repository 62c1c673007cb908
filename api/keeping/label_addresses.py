"""The addresses that labels carry: claimed once and for good, a former tag's too."""

from sqlalchemy import Connection, insert, select

from api.keeping.register_change import RegisterChange
from api.models.register import ADDRESS
from api.records.addresses import folded
from api.records.device import Device
from api.records.problems import AddressTaken


def claim_addresses(connection: Connection, change: RegisterChange, letter: str) -> None:
    """Claim the address of an entity's key, and of a device's former tags; refuses one that belongs to another.

    A former tag may be a device of its own on the register: the one that was labelled anew.
    """
    _claim(connection, change, letter, change.key, (change.key,))
    if isinstance(change.record, Device):
        for tag in change.record.previous_tags:
            _claim(connection, change, letter, tag, (change.key, tag))


def _claim(connection: Connection, change: RegisterChange, letter: str, key: str, holders: tuple[str, ...]) -> None:
    address = folded(key)
    claimed = (ADDRESS.c.letter == letter) & (ADDRESS.c.folded == address)
    holder = connection.scalar(select(ADDRESS.c.key).where(claimed))
    if holder is None:
        row = {"letter": letter, "folded": address, "key": change.key, "claimed_at": change.moment.isoformat()}
        connection.execute(insert(ADDRESS), row)
    elif holder not in holders:
        raise AddressTaken(
            f"The address {letter}/{address}/ belongs to {holder!r} for good; choose another {change.kind} code.",
            address=f"{letter}/{address}/", holder=holder,
        )  # fmt: skip
