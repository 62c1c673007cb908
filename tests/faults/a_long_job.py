"""A job of fifty chunks, each of which writes one entry in the log, and a worker that may kill itself in the middle of any.

Run as a program it takes one job on the record of the environment, and dies by SIGKILL inside the chunk named there.
"""

import os
import signal
from datetime import UTC, datetime
from importlib.metadata import EntryPoint

import pytest
from sqlalchemy import Connection, Engine

from api.cli import jobs
from api.database import make_engine
from api.keeping.job_at_work import JobAtWork
from api.keeping.log import Draft, append_to_log, seal
from api.records.log import Touched
from api.settings import Settings, settings_from_environment

KIND = "count to fifty"
CHUNKS = 50
HANDLER = EntryPoint(KIND, "tests.faults.a_long_job:count", jobs.HANDLERS)


def count(_: Settings, at_work: JobAtWork) -> str:
    """Write the entries 1 to 50, one a chunk; kill this process in the middle of the chunk that the environment names."""
    dies_in = int(os.environ.get("DIES_IN_CHUNK", "0"))
    while (done := at_work.progress.get("done", 0)) < CHUNKS:
        at_work.chunk(lambda connection: one(connection, done + 1, dies_in))
    return f"Counted to {CHUNKS}."


def one(connection: Connection, number: int, dies_in: int) -> dict[str, int]:
    sealed = seal(connection, str(number).encode())
    append_to_log(connection, Draft("counted", "T-01", datetime.now(UTC), (Touched("count", str(number)),), sealed))
    if number == dies_in:
        os.kill(os.getpid(), signal.SIGKILL)
    return {"done": number, "of": CHUNKS}


def take(engine: Engine, settings: Settings) -> str | None:
    """Take one job with the handler above known; return its id."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("api.cli.jobs.entry_points", lambda group: [HANDLER])
        found = jobs.take_one(engine, settings)
    return found.job if found else None


if __name__ == "__main__":
    settings = settings_from_environment()
    take(make_engine(settings.database_url), settings)
