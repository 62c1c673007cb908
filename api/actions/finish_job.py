"""Finish a job: done or failed, with the sentence that says what came of it."""

from datetime import datetime

from sqlalchemy import Connection, update

from api.models.job import JOB
from api.records.job import JobState


def finish_job(
    connection: Connection, name: str, holder: str, state: JobState, answer: str, *, moment: datetime
) -> None:
    """Write what came of a job, if its lease is still the holder's; the lease ends."""
    finished = {
        "state": state,
        "answer": answer,
        "finished_at": moment.isoformat(),
        "lease_holder": None,
        "lease_until": None,
    }
    connection.execute(update(JOB).where(JOB.c.job == name, JOB.c.lease_holder == holder).values(**finished))
