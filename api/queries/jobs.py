"""Jobs read back."""

import json
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Row, select

from api.database import sites_in_sight
from api.models.job import JOB
from api.records.job import Job
from api.records.problems import NotOnRecord


def job(connection: Connection, name: str) -> Job:
    """Return one job; refuses an id that nobody asked under (`NotOnRecord`)."""
    row = connection.execute(select(JOB).where(JOB.c.job == name)).one_or_none()
    sites = sites_in_sight(connection)
    if row is None or (sites is not None and row.site not in (None, *sites)):
        raise NotOnRecord(f"No job {name!r} was asked for.", job=name)
    return job_of(row)


def job_of(row: Row[Any]) -> Job:
    """Return the job that a row holds."""
    finished = datetime.fromisoformat(row.finished_at) if row.finished_at else None
    return Job(
        row.job, row.kind, row.state, datetime.fromisoformat(row.asked_at), row.asked_by, json.loads(row.request),
        row.attempts, row.answer, finished, json.loads(row.progress) if row.progress else None,
    )  # fmt: skip
