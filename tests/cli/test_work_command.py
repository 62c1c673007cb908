"""`steelyard work`: long jobs taken one after the other, each once; a job that fails says why and stops nothing."""

from datetime import UTC, datetime, timedelta
from importlib.metadata import EntryPoint, entry_points

import pytest
from sqlalchemy import Engine, update

from api.actions.ask_for_job import ask_for_job
from api.actions.take_job import take_job
from api.database import make_engine, reading, unit_of_work
from api.keeping.job_at_work import LEASE
from api.models.job import JOB
from api.queries.jobs import job
from api.records.job import Job
from api.settings import Settings
from tests.cli.conftest import runner_on
from tests.doors import example_bytes, send
from tests.filled_record import door_to

NOW = datetime(2026, 11, 25, 12, tzinfo=UTC)


def asked(engine: Engine, kind: str, seconds: int = 0) -> str:
    moment = NOW + timedelta(seconds=seconds)
    return unit_of_work(engine, lambda connection: ask_for_job(connection, kind, {}, by_whom="T-01", moment=moment)).job


def taken(engine: Engine, holder: str, moment: datetime = NOW) -> Job | None:
    return unit_of_work(engine, lambda connection: take_job(connection, holder, moment=moment))


def read(engine: Engine, name: str) -> Job:
    with reading(engine) as connection:
        return job(connection, name)


def test_where_nothing_waits_it_ends_and_says_so(settings: Settings) -> None:
    said = runner_on(settings)("work", "--once")

    assert (said.exit_code, said.output) == (0, "0 jobs done.\n")


def test_a_publish_job_publishes_the_site(filled: Settings) -> None:
    engine = make_engine(filled.database_url)
    with door_to(filled) as client:
        send(client, example_bytes())
    name = asked(engine, "publish")

    said = runner_on(filled)("work", "--once")

    done = read(engine, name)
    engine.dispose()
    assert said.output == f"publish {name}\n1 job done.\n"
    assert (done.state, done.attempts) == ("done", 1)
    assert done.answer is not None
    assert done.answer.startswith("Published ")
    assert "A-04" in (filled.site_folder / "d" / "a-04" / "index.html").read_text("utf-8")


def test_a_job_that_fails_says_why_and_the_next_is_done(settings: Settings, engine: Engine) -> None:
    unknown, publish = asked(engine, "brew tea"), asked(engine, "publish", 1)

    said = runner_on(settings)("work", "--once")

    assert said.output == f"brew tea {unknown}\npublish {publish}\n2 jobs done.\n"
    failed = read(engine, unknown)
    assert (failed.state, failed.finished_at is not None) == ("failed", True)
    assert failed.answer == "No installed package does jobs of kind 'brew tea'; known: export, import, publish."
    assert read(engine, publish).state in ("done", "failed")


@pytest.mark.parametrize(("handler", "why"), [
    ("no_such_package.doors:work", "ModuleNotFoundError: No module named 'no_such_package'"),
    ("api.cli.jobs:no_such_handler", "AttributeError: module 'api.cli.jobs' has no attribute 'no_such_handler'"),
])  # fmt: skip
def test_a_job_whose_handler_cannot_be_loaded_fails_with_a_sentence_and_the_next_is_done(
    settings: Settings, engine: Engine, monkeypatch: pytest.MonkeyPatch, handler: str, why: str
) -> None:
    known = entry_points(group="steelyard.jobs")
    broken = EntryPoint("brew tea", handler, "steelyard.jobs")
    monkeypatch.setattr("api.cli.jobs.entry_points", lambda group: [*known, broken])
    tea, publish = asked(engine, "brew tea"), asked(engine, "publish", 1)

    said = runner_on(settings)("work", "--once")

    assert said.output == f"brew tea {tea}\npublish {publish}\n2 jobs done.\n"
    failed = read(engine, tea)
    loading = f"The handler of 'brew tea' ({handler}) cannot be loaded; install its package again."
    assert (failed.state, failed.answer) == ("failed", f"{loading} {why}")


def test_the_job_that_waited_longest_is_taken_first_and_by_one_only(engine: Engine) -> None:
    later, sooner = asked(engine, "publish", 5), asked(engine, "publish", 0)

    first, second, third = (taken(engine, holder) for holder in ("a", "b", "c"))

    assert first is not None
    assert second is not None
    assert (first.job, second.job, third) == (sooner, later, None)


@pytest.mark.parametrize(("after", "again"), [(LEASE, False), (LEASE + timedelta(seconds=1), True)])
def test_a_job_whose_worker_was_killed_is_taken_again_when_its_lease_ran_out(
    engine: Engine, after: timedelta, again: bool
) -> None:
    name = asked(engine, "publish")
    taken(engine, "killed")

    found = taken(engine, "next", NOW + after)

    assert (found is not None) is again
    assert read(engine, name).attempts == (2 if again else 1)


def test_a_finished_job_is_not_taken_again(engine: Engine) -> None:
    name = asked(engine, "publish")
    taken(engine, "a")
    unit_of_work(
        engine, lambda connection: connection.execute(update(JOB).where(JOB.c.job == name).values(state="done"))
    )

    assert taken(engine, "b", NOW + 2 * LEASE) is None
