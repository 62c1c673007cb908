"""Renew the lease of a job whose holder is still at it."""

from datetime import datetime

from sqlalchemy import Connection, update

from api.keeping.job_at_work import LEASE
from api.models.job import JOB


def renew_lease(connection: Connection, name: str, holder: str, *, moment: datetime) -> bool:
    """Renew the lease of a job and return whether it is still the holder's."""
    mine = (JOB.c.job == name) & (JOB.c.lease_holder == holder)
    renewed = update(JOB).where(mine).values(lease_until=(moment + LEASE).isoformat())
    return connection.execute(renewed).rowcount == 1
