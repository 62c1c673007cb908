"""Take the next job under a lease; a lease that ran out is free again, so that a killed worker's job goes on."""

from datetime import datetime

from sqlalchemy import Connection, and_, or_, select, update

from api.keeping.job_at_work import LEASE
from api.models.job import JOB
from api.queries.jobs import job
from api.records.job import Job


def take_job(connection: Connection, holder: str, *, moment: datetime) -> Job | None:
    """Return the job that waited longest, taken by a holder, or None where nothing waits."""
    free = or_(JOB.c.state == "waiting", and_(JOB.c.state == "taken", JOB.c.lease_until < moment.isoformat()))
    waiting = (
        select(JOB.c.job).where(free).order_by(JOB.c.asked_at, JOB.c.job).limit(1).with_for_update(skip_locked=True)
    )
    name = connection.scalar(waiting)
    if name is None:
        return None
    taken = {"state": "taken", "lease_holder": holder, "lease_until": (moment + LEASE).isoformat()}
    connection.execute(update(JOB).where(JOB.c.job == name).values(**taken, attempts=JOB.c.attempts + 1))
    return job(connection, name)
