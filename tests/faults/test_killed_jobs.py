"""Long jobs when workers die or meet: each chunk is kept once, and whoever comes next begins where it ended. Own rule."""

import json
import subprocess
import sys
import threading
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Connection, Engine, select, update
from sqlalchemy.exc import OperationalError

from api.actions.ask_for_job import ask_for_job
from api.actions.cancel_job import cancel_job
from api.actions.take_job import take_job
from api.cli import jobs
from api.database import reading, unit_of_work
from api.keeping.job_at_work import LEASE, JobAtWork, JobIsAnothers
from api.models.job import JOB
from api.models.log import LOG_TOUCH
from api.queries.jobs import job
from api.records.job import Job
from api.settings import Settings
from tests.faults import a_long_job
from tests.faults.a_long_job import CHUNKS, KIND, take

ROOT = Path(__file__).parents[2]
NOW = datetime(2026, 11, 25, 12, tzinfo=UTC)


def asked(engine: Engine) -> str:
    return unit_of_work(engine, lambda c: ask_for_job(c, KIND, {}, by_whom="T-01", moment=NOW)).job


def read(engine: Engine, name: str) -> Job:
    with reading(engine) as connection:
        return job(connection, name)


def at_work(engine: Engine, holder: str, moment: datetime) -> JobAtWork:
    taken = unit_of_work(engine, lambda connection: take_job(connection, holder, moment=moment))
    assert taken is not None
    return JobAtWork(engine, taken, holder)


def counted(engine: Engine) -> list[int]:
    with reading(engine) as connection:
        found = connection.scalars(select(LOG_TOUCH.c.key).where(LOG_TOUCH.c.kind == "count"))
        return [int(key) for key in found]


def lease_runs_out(engine: Engine) -> None:
    long_ago = {"lease_until": NOW.isoformat()}
    unit_of_work(engine, lambda connection: connection.execute(update(JOB).values(**long_ago)))


def worker_killed_in(chunk: int, settings: Settings) -> int:
    environment = settings.as_environment() | {"DIES_IN_CHUNK": str(chunk)}
    return subprocess.run(
        [sys.executable, "-m", "tests.faults.a_long_job"], env=environment, cwd=ROOT, timeout=60, check=False
    ).returncode


def test_a_job_whose_workers_are_killed_again_and_again_keeps_every_chunk_once(
    engine: Engine, settings: Settings
) -> None:
    name = asked(engine)

    for chunk in (1, 2, 30):
        assert worker_killed_in(chunk, settings) == -9
        left = read(engine, name)
        assert (left.state, (left.progress or {}).get("done", 0)) == ("taken", chunk - 1)
        lease_runs_out(engine)
    take(engine, settings)

    done = read(engine, name)
    assert (done.state, done.answer, done.attempts) == ("done", "Counted to 50.", 4)
    assert done.progress == {"done": 50, "of": 50}
    assert sorted(counted(engine)) == list(range(1, CHUNKS + 1))


def test_a_chunk_of_a_job_that_another_took_meanwhile_is_not_kept(engine: Engine) -> None:
    asked(engine)
    slow = at_work(engine, "slow", NOW)
    slow.chunk(lambda connection: a_long_job.one(connection, 1, 0))
    lease_runs_out(engine)
    next_one = at_work(engine, "next", NOW + LEASE)

    with pytest.raises(JobIsAnothers):
        slow.chunk(lambda connection: a_long_job.one(connection, 2, 0))
    next_one.chunk(lambda connection: a_long_job.one(connection, 2, 0))

    assert counted(engine) == [1, 2]


def test_a_chunk_that_breaks_leaves_the_progress_as_it_was(engine: Engine) -> None:
    name = asked(engine)
    work = at_work(engine, "a", NOW)
    work.chunk(lambda connection: a_long_job.one(connection, 1, 0))

    def breaks(connection: Connection) -> dict[str, Any]:
        a_long_job.one(connection, 2, 0)
        raise InterruptedError

    with pytest.raises(InterruptedError):
        work.chunk(breaks)

    assert work.progress == read(engine, name).progress == {"done": 1, "of": 50}
    assert counted(engine) == [1]


def test_a_cancelled_job_keeps_no_further_chunk_and_stays_cancelled(engine: Engine, settings: Settings) -> None:
    name = asked(engine)
    work = at_work(engine, "a", NOW)
    work.chunk(lambda connection: a_long_job.one(connection, 1, 0))

    cancelled = unit_of_work(engine, lambda connection: cancel_job(connection, name, moment=NOW))

    with pytest.raises(JobIsAnothers):
        work.chunk(lambda connection: a_long_job.one(connection, 2, 0))
    assert take(engine, settings) is None
    assert (cancelled.state, cancelled.finished_at, cancelled.progress) == ("cancelled", NOW, {"done": 1, "of": 50})
    assert unit_of_work(engine, lambda connection: cancel_job(connection, name, moment=NOW + LEASE)) == cancelled


def test_a_lease_is_renewed_while_the_work_goes_on(
    engine: Engine, settings: Settings, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Two renewals are waited for, as quick as the clock is told to be; the work itself keeps nothing."""
    monkeypatch.setattr("api.cli.jobs.RENEWED_EVERY", timedelta(milliseconds=20))
    renewed, renew = threading.Semaphore(0), jobs.renew_lease

    def seen(*arguments: Any, **named: Any) -> bool:
        renewed.release()
        return renew(*arguments, **named)

    def waits(_: Settings, work: JobAtWork) -> str:
        assert all(renewed.acquire(timeout=20) for _ in range(2))
        until.append(read_lease(engine))
        return "waited"

    until: list[str] = []
    monkeypatch.setattr("api.cli.jobs.renew_lease", seen)
    monkeypatch.setattr("tests.faults.a_long_job.count", waits)
    name = asked(engine)
    first = datetime.now(UTC) + LEASE

    assert take(engine, settings) == name

    assert datetime.fromisoformat(until[0]) > first
    assert read(engine, name).answer == "waited"


def read_lease(engine: Engine) -> str:
    with reading(engine) as connection:
        return connection.scalar(select(JOB.c.lease_until)) or ""


def test_a_job_that_met_a_silent_database_is_left_to_be_taken_again(
    engine: Engine, settings: Settings, monkeypatch: pytest.MonkeyPatch
) -> None:
    def silent(_: Settings, work: JobAtWork) -> str:
        raise OperationalError("SELECT 1", {}, Exception("server closed the connection"))

    name = asked(engine)
    with monkeypatch.context() as patch:
        patch.setattr("tests.faults.a_long_job.count", silent)
        with pytest.raises(OperationalError):
            take(engine, settings)
    left = read(engine, name).state
    lease_runs_out(engine)
    take(engine, settings)

    assert (left, read(engine, name).state) == ("taken", "done")


def test_what_progress_holds_is_plain_json(engine: Engine) -> None:
    asked(engine)
    work = at_work(engine, "a", NOW)

    work.chunk(lambda _: {"next_line": 501, "kept": 499, "file": "ü.csv"})

    with reading(engine) as connection:
        kept = connection.scalar(select(JOB.c.progress))
    assert json.loads(kept or "") == {"next_line": 501, "kept": 499, "file": "ü.csv"}
