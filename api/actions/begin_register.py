"""Begin a register: the starting policy, with the source of each of its numbers, if there is none yet."""

from datetime import date, datetime

from sqlalchemy import Connection

from api.keeping.register_change import RegisterChange
from api.keeping.register_entry import put_on_register
from api.metrology.policy import STARTING
from api.queries.register import chain_of

# Before any calibration that may be imported: the policy was never in force later than the oldest record.
FROM = date(1990, 1, 1)


def begin_register(connection: Connection, *, moment: datetime) -> bool:
    """Put the starting policy on an empty register; return whether that was needed."""
    if chain_of(connection, "policy", STARTING.code):
        return False
    put_on_register(connection, RegisterChange("policy", STARTING.code, FROM, STARTING, "steelyard", moment))
    return True
