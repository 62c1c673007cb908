"""Taking jobs: one after the other, each by the handler that a package registered for its kind."""

import logging
import os
import socket
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from importlib.metadata import entry_points
from typing import Any

from sqlalchemy import Engine
from sqlalchemy.exc import OperationalError

from api.actions.finish_job import finish_job
from api.actions.renew_lease import renew_lease
from api.actions.take_job import take_job
from api.database import make_engine, unit_of_work
from api.keeping.job_at_work import RENEWED_EVERY, JobAtWork, JobIsAnothers
from api.records.job import Job
from api.settings import Settings

LOGGER = logging.getLogger("steelyard")
HANDLERS = "steelyard.jobs"
PAUSE_SECONDS = 2.0
# A job that met a database which did not answer is left to be taken again, so often.
MOST_ATTEMPTS = 10

# A handler does a job and returns the sentence that says what came of it; what it raises says why it failed. How it goes
# chunk by chunk is told in `api.keeping.job_at_work`.
Handler = Callable[[Settings, JobAtWork], str]


def take_one(engine: Engine, settings: Settings) -> Job | None:
    """Take one job and do it; return it as it was taken, or None where nothing waited."""
    holder = f"{socket.gethostname()}/{os.getpid()}/{threading.get_ident()}"
    job = unit_of_work(engine, lambda connection: take_job(connection, holder, moment=datetime.now(UTC)))
    if job is None:
        return None
    with _lease_renewed(engine, job.job, holder):
        state, answer = _done(settings, JobAtWork(engine, job, holder))
    unit_of_work(
        engine, lambda connection: finish_job(connection, job.job, holder, state, answer, moment=datetime.now(UTC))
    )
    return job


@contextmanager
def _lease_renewed(engine: Engine, name: str, holder: str) -> Iterator[None]:
    """Have the lease renewed beside, as long as the work goes on and the job is the holder's."""
    ended = threading.Event()

    def renew() -> None:
        while not ended.wait(RENEWED_EVERY.total_seconds()):
            try:
                if not unit_of_work(engine, lambda c: renew_lease(c, name, holder, moment=datetime.now(UTC))):
                    return
            except OperationalError:
                LOGGER.exception("the lease of job %s could not be renewed; trying again", name)

    beside = threading.Thread(target=renew, name=f"lease of {name}", daemon=True)
    beside.start()
    try:
        yield
    finally:
        ended.set()
        beside.join()


def _done(settings: Settings, at_work: JobAtWork) -> tuple[Any, str]:
    job = at_work.job
    handlers = {point.name: point for point in entry_points(group=HANDLERS)}
    if job.kind not in handlers:
        return "failed", f"No installed package does jobs of kind {job.kind!r}; known: {', '.join(sorted(handlers))}."
    found = handlers[job.kind]
    said = f"The handler of {job.kind!r} ({found.value}) cannot be loaded; install its package again. "
    try:
        handler: Handler = found.load()
        said = ""
        return "done", handler(settings, at_work)
    except JobIsAnothers as lost:
        LOGGER.warning("%s", lost)
        return "failed", str(lost)  # written nowhere: the job has another holder, or none
    except Exception as error:  # noqa: BLE001 - the door of a job: it must not end the worker
        if isinstance(error, OperationalError) and job.attempts < MOST_ATTEMPTS:
            raise
        LOGGER.exception("job %s of kind %s failed", job.job, job.kind)
        return "failed", f"{said}{type(error).__name__}: {error}"


def keep_taking_jobs(settings: Settings) -> None:
    """Take jobs until the process ends."""
    engine = make_engine(settings.database_url)
    while True:
        try:
            taken = take_one(engine, settings)
        except OperationalError:
            LOGGER.exception("the record could not be asked for jobs; trying again")
            taken = None
        if taken is None:
            time.sleep(PAUSE_SECONDS)
