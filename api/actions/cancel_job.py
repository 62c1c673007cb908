"""Cancel a job: nobody takes it any more, and whoever is at it can keep no further chunk."""

from datetime import datetime

from sqlalchemy import Connection, update

from api.models.job import JOB
from api.queries.jobs import job
from api.records.job import Job


def cancel_job(connection: Connection, name: str, *, moment: datetime) -> Job:
    """Cancel a job that has not ended, and return it; one that has ended stays as it is."""
    unfinished = (JOB.c.job == name) & JOB.c.state.in_(("waiting", "taken"))
    ended = {"state": "cancelled", "finished_at": moment.isoformat(), "lease_holder": None, "lease_until": None}
    connection.execute(update(JOB).where(unfinished).values(**ended))
    return job(connection, name)
