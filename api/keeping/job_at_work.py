"""A job while a worker is at it: chunk after chunk, each in one transaction with the progress it makes.

How a handler goes on from where it was: it reads `progress` (what the last committed chunk returned, empty at first), and
gives each next chunk to `chunk` as a function of a connection that returns the new progress. Chunk and progress are
committed together or not at all, so a worker that is killed at any moment loses one chunk at most, and whoever takes the
job next begins exactly there:

    def handler(settings, at_work):
        while (line := at_work.progress.get("next_line", 1)) <= last_line:
            at_work.chunk(lambda connection: import_lines(connection, line, line + 499))
        return "Imported 9,812 calibrations."

`progress` is a flat JSON object of the handler's own words, shown as it is at `/v1/jobs/{name}`; `done` and `of` are read
as a share of the whole. Work that needs no transaction of its own (publishing) leaves `chunk` alone.

The lease is renewed beside, by the worker. A chunk locks the job's row first and is refused if the job is another's by now
(`JobIsAnothers`), so two workers never keep chunks of one job.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import Any

import orjson
from sqlalchemy import Connection, Engine, select, update

from api.database import unit_of_work
from api.models.job import JOB
from api.records.job import Job

# A worker that is killed leaves its job to others after so long (a house choice); renewed four times within it.
LEASE = timedelta(minutes=1)
RENEWED_EVERY = LEASE / 4

Progress = dict[str, Any]


class JobIsAnothers(Exception):
    """The job was taken by another worker, or cancelled, while this one was at it."""


@dataclass(slots=True)
class JobAtWork:
    """A job taken by a holder: what was asked, how far it is, and the way to do the next chunk of it."""

    engine: Engine
    job: Job
    holder: str
    progress: Progress = field(init=False)

    def __post_init__(self) -> None:
        """Begin where the last chunk ended."""
        self.progress = dict(self.job.progress or {})

    @property
    def request(self) -> dict[str, Any]:
        """What was asked for."""
        return self.job.request

    def chunk(self, work: Callable[[Connection], Progress]) -> None:
        """Do one chunk in one transaction and keep the progress it returns with it.

        Refuses if the job is another's by now (`JobIsAnothers`); nothing of the chunk is kept then.
        """
        self.progress = unit_of_work(self.engine, lambda connection: self._held(connection, work))

    def _held(self, connection: Connection, work: Callable[[Connection], Progress]) -> Progress:
        mine = (JOB.c.job == self.job.job) & (JOB.c.lease_holder == self.holder)
        if connection.execute(select(JOB.c.job).where(mine).with_for_update()).first() is None:
            raise JobIsAnothers(f"Job {self.job.job} was cancelled, or is another worker's by now.")
        progress = work(connection)
        kept = {"progress": orjson.dumps(progress).decode(), "lease_until": (datetime.now(UTC) + LEASE).isoformat()}
        connection.execute(update(JOB).where(mine).values(**kept))
        return progress
