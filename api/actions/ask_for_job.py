"""Ask for a long job: a row that whoever works next will take."""

import json
import uuid
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, insert

from api.models.job import JOB
from api.queries.jobs import job
from api.records.job import Job


def ask_for_job(connection: Connection, kind: str, request: dict[str, Any], *, by_whom: str, moment: datetime) -> Job:
    """Return the job asked for, waiting."""
    name = str(uuid.uuid4())
    connection.execute(
        insert(JOB),
        {
            "job": name, "kind": kind, "state": "waiting", "asked_at": moment.isoformat(), "asked_by": by_whom,
            "request": json.dumps(request), "attempts": 0,
        },
    )  # fmt: skip
    return job(connection, name)
