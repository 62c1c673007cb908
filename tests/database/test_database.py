"""Connections and units of work: what is committed lasts, two writers lose nothing, a failed one leaves nothing."""

import threading
from concurrent.futures import ThreadPoolExecutor

import pytest
from sqlalchemy import Connection, Engine, bindparam, func, insert, select, text, update
from sqlalchemy.exc import DBAPIError, IntegrityError

from api.database import BUSY_SECONDS, TRIES, Prepared, make_engine, reading, transaction, unit_of_work
from api.models.job import JOB
from api.models.person import PERSON_NAME
from api.models.record import CERTIFICATE_SERIAL

THIS = (CERTIFICATE_SERIAL.c.site == "S-1") & (CERTIFICATE_SERIAL.c.year == 2026)


def a_serial(serial: int, year: int = 2026) -> dict[str, object]:
    return {"site": "S-1", "year": year, "serial": serial}


def serials(engine: Engine) -> list[int]:
    with reading(engine) as connection:
        return list(connection.scalars(select(CERTIFICATE_SERIAL.c.serial).order_by(CERTIFICATE_SERIAL.c.year)))


def one_more(connection: Connection) -> None:
    """Read, and write what follows from it, as two statements with time between them."""
    last = connection.scalar(select(CERTIFICATE_SERIAL.c.serial).where(THIS).with_for_update())
    assert last is not None
    connection.execute(update(CERTIFICATE_SERIAL).where(THIS).values(serial=last + 1))


def the_next_year(connection: Connection) -> None:
    """Add a row under the key that follows the highest one: two writers at once want the same key."""
    last = connection.scalar(select(func.max(CERTIFICATE_SERIAL.c.year))) or 2000
    connection.execute(insert(CERTIFICATE_SERIAL), a_serial(1, last + 1))


@pytest.mark.parametrize(
    ("pragma", "value"),
    [("journal_mode", "wal"), ("synchronous", 2), ("foreign_keys", 1), ("busy_timeout", BUSY_SECONDS * 1000)],
)
def test_every_sqlite_connection_lasts_through_a_power_cut_and_keeps_its_keys(
    engine: Engine, pragma: str, value: object
) -> None:
    """The numbers are SQLite's own: synchronous 2 is FULL (sqlite.org/pragma.html)."""
    if engine.dialect.name != "sqlite":
        pytest.skip("pragmas are SQLite's")

    for _ in range(2):
        engine.dispose()
        with reading(engine) as connection:
            assert connection.scalar(text(f"PRAGMA {pragma}")) == value


def test_postgresql_waits_for_its_log_before_it_answers(engine: Engine) -> None:
    if engine.dialect.name != "postgresql":
        pytest.skip("a setting of PostgreSQL")

    with transaction(engine) as connection:
        assert connection.scalar(text("SHOW synchronous_commit")) == "on"
        assert connection.scalar(text("SHOW fsync")) == "on"
        assert connection.scalar(text("SHOW transaction_isolation")) == "read committed"


def test_the_folder_of_a_sqlite_file_is_made(tmp_path: object) -> None:
    engine = make_engine(f"sqlite:///{tmp_path}/a/b/record.db")

    with transaction(engine) as connection:
        assert connection.scalar(text("SELECT 1")) == 1
    engine.dispose()


def test_a_row_without_what_it_points_at_is_refused(engine: Engine) -> None:
    orphan = "INSERT INTO log_touch (log, number, kind, key) VALUES ('network', 999, 'device', 'A-01')"

    with pytest.raises(IntegrityError), transaction(engine) as connection:
        connection.execute(text(orphan))


def test_what_was_read_is_never_kept(engine: Engine) -> None:
    with reading(engine) as connection:
        connection.execute(insert(CERTIFICATE_SERIAL), a_serial(1))

    assert serials(engine) == []


def test_a_unit_of_work_that_fails_leaves_nothing(engine: Engine) -> None:
    def fails(connection: Connection) -> None:
        connection.execute(insert(CERTIFICATE_SERIAL), a_serial(1))
        raise LookupError("half way")

    with pytest.raises(LookupError, match="half way"):
        unit_of_work(engine, fails)

    assert serials(engine) == []


def test_two_threads_that_read_and_write_lose_nothing(engine: Engine) -> None:
    with transaction(engine) as connection:
        connection.execute(insert(CERTIFICATE_SERIAL), a_serial(0))

    def many(_: int) -> None:
        for _ in range(25):
            unit_of_work(engine, one_more)

    with ThreadPoolExecutor(2) as threads:
        list(threads.map(many, range(2)))

    assert serials(engine) == [50]


def test_two_threads_that_want_the_same_key_each_get_one_of_their_own(engine: Engine) -> None:
    together = threading.Barrier(2)

    def many(_: int) -> None:
        together.wait()
        for _ in range(10):
            unit_of_work(engine, the_next_year)

    with ThreadPoolExecutor(2) as threads:
        list(threads.map(many, range(2)))

    assert len(serials(engine)) == 20


def test_a_reader_sees_one_state_while_another_writes(engine: Engine) -> None:
    with transaction(engine) as connection:
        connection.execute(insert(CERTIFICATE_SERIAL), a_serial(1))

    with reading(engine) as reader:
        before = reader.scalar(select(CERTIFICATE_SERIAL.c.serial))
        unit_of_work(engine, one_more)
        after = reader.scalar(select(CERTIFICATE_SERIAL.c.serial))

    assert (before, after, serials(engine)) == (1, 1, [2])


def test_a_fault_of_the_work_itself_is_not_tried_for_ever(engine: Engine) -> None:
    tried = []

    def breaks(connection: Connection) -> None:
        tried.append(1)
        connection.execute(insert(CERTIFICATE_SERIAL), [a_serial(1), a_serial(2)])

    with pytest.raises(IntegrityError):
        unit_of_work(engine, breaks)

    assert len(tried) == (TRIES if engine.dialect.name == "postgresql" else 1)
    assert serials(engine) == []


def test_a_statement_that_is_wrong_is_not_tried_again(engine: Engine) -> None:
    tried = []

    def breaks(connection: Connection) -> None:
        tried.append(1)
        connection.execute(text("SELECT colour FROM nothing"))

    with pytest.raises(DBAPIError):
        unit_of_work(engine, breaks)

    assert len(tried) == 1


@pytest.mark.parametrize("count", [1, 2, 5])
def test_prepared_rows_are_those_of_the_plain_insert(engine: Engine, count: int) -> None:
    rows = [{"code": f"T-{n:02d}", "name": f"étage {n} ' \" % : ?", "recorded_at": "2026-11-25"} for n in range(count)]
    prepared = Prepared(insert(PERSON_NAME))
    found = []

    for run in (lambda c: c.execute(insert(PERSON_NAME), rows), lambda c: prepared.run(c, rows)):
        with reading(engine) as connection:
            run(connection)
            found.append(connection.execute(select(PERSON_NAME).order_by(PERSON_NAME.c.code)).all())

    assert found[0] == found[1]
    assert [dict(row._mapping) for row in found[1]] == rows


def test_a_prepared_question_has_the_answer_of_the_plain_one_each_time_it_is_asked(engine: Engine) -> None:
    plain = (
        select(JOB).where(JOB.c.kind == bindparam("of_kind"), JOB.c.attempts >= bindparam("least")).order_by(JOB.c.job)
    )
    prepared = Prepared(plain)
    jobs = [
        {"job": f"j{n}", "kind": ("publish", "other")[n % 2], "site": None, "state": "waiting", "asked_at": "2026",
         "asked_by": "T-01", "request": "{}", "progress": None, "answer": None, "lease_holder": None,
         "lease_until": None, "attempts": n, "finished_at": None}
        for n in range(6)
    ]  # fmt: skip
    with transaction(engine) as connection:
        Prepared(insert(JOB)).run(connection, jobs)

    with reading(engine) as connection:
        for values in (
            {"of_kind": "publish", "least": 1},
            {"of_kind": "other", "least": 0},
            {"of_kind": "", "least": 0},
        ):
            said = prepared.run(connection, values).mappings().all()
            assert said == connection.execute(plain, values).mappings().all()
            assert [row["job"] for row in said] == [j["job"] for j in jobs if (j["kind"], True) == (
                values["of_kind"], int(str(j["attempts"])) >= int(str(values["least"])))]  # fmt: skip


def test_a_prepared_statement_without_values_runs_and_a_prepared_change_is_made(engine: Engine) -> None:
    in_year = CERTIFICATE_SERIAL.c.year == bindparam("in_year")
    change = Prepared(update(CERTIFICATE_SERIAL).where(in_year).values(serial=bindparam("new_serial")))
    count = Prepared(select(func.count()).select_from(CERTIFICATE_SERIAL))
    with transaction(engine) as connection:
        connection.execute(insert(CERTIFICATE_SERIAL), [a_serial(1), a_serial(1, 2027)])

    with transaction(engine) as connection:
        changed = change.run(connection, {"in_year": 2026, "new_serial": 7}).rowcount
        counted = count.run(connection).scalar()

    assert (changed, counted, serials(engine)) == (1, 2, [7, 1])


def test_a_statement_of_a_request_ends_when_its_time_is_over(engine: Engine) -> None:
    if engine.dialect.name != "postgresql":
        pytest.skip("SQLite has no bound of the kind")
    bounded = make_engine(engine.url.render_as_string(hide_password=False), statement_seconds=1)

    with reading(bounded) as connection, pytest.raises(DBAPIError, match="statement timeout"):
        connection.execute(text("SELECT pg_sleep(5)"))

    bounded.dispose()
