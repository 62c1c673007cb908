"""Put an entity on the register, or change it from a day on."""

from typing import Any

from sqlalchemy import Connection

from api.keeping.register_change import RegisterChange
from api.keeping.register_entry import put_on_register
from api.records.register import Revision


def change_register(connection: Connection, change: RegisterChange) -> tuple[Revision[Any], bool]:
    """Return the revision that says what was asked, and whether it is new. Refuses as `put_on_register` does."""
    return put_on_register(connection, change)
