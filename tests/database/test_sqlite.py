"""SQLite as this program opens it: nothing answered is lost by a power cut, and no writer loses another's work."""

import sqlite3
import threading
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from sqlalchemy import Connection, Engine, event, text

from api.database import make_engine, reading, transaction, unit_of_work


@pytest.fixture
def file(tmp_path: Path) -> Path:
    return tmp_path / "in a folder of its own" / "record.db"


@pytest.fixture
def sqlite(file: Path) -> Iterator[Engine]:
    made = make_engine(f"sqlite:///{file}")
    with transaction(made) as connection:
        connection.execute(text("CREATE TABLE counter (number INTEGER NOT NULL)"))
        connection.execute(text("INSERT INTO counter VALUES (0)"))
    yield made
    made.dispose()


def counted(connection: Connection) -> int:
    number: int = connection.scalar(text("SELECT number FROM counter"))
    return number


def test_a_writer_begins_immediately_and_a_reader_does_not(sqlite: Engine) -> None:
    said: list[str] = []
    event.listen(sqlite, "before_cursor_execute", lambda _, __, statement, *___: said.append(statement))

    with transaction(sqlite) as connection:
        counted(connection)
    with reading(sqlite) as connection:
        counted(connection)

    assert [s for s in said if s.startswith("BEGIN")] == ["BEGIN IMMEDIATE", "BEGIN"]


def test_a_reader_is_not_held_up_by_a_writer(sqlite: Engine) -> None:
    with transaction(sqlite) as writer, ThreadPoolExecutor(1) as pool:
        writer.execute(text("UPDATE counter SET number = 5"))

        def read() -> int:
            with reading(sqlite) as reader:
                return counted(reader)

        assert pool.submit(read).result(timeout=2) == 0


def test_what_was_committed_is_in_the_file_for_any_other_program(sqlite: Engine, file: Path) -> None:
    with transaction(sqlite) as connection:
        connection.execute(text("UPDATE counter SET number = 3"))

    other = sqlite3.connect(file)
    assert other.execute("SELECT number FROM counter").fetchone() == (3,)
    assert other.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    other.close()


def test_a_writer_waits_for_the_writer_before(sqlite: Engine) -> None:
    begun, go_on = threading.Event(), threading.Event()

    def first(connection: Connection) -> None:
        begun.set()
        go_on.wait(5)
        connection.execute(text("UPDATE counter SET number = number + 1"))

    with ThreadPoolExecutor(2) as pool:
        one = pool.submit(unit_of_work, sqlite, first)
        assert begun.wait(5)
        two = pool.submit(unit_of_work, sqlite, lambda c: c.execute(text("UPDATE counter SET number = number * 10")))
        go_on.set()
        one.result()
        two.result()

    with reading(sqlite) as connection:
        assert counted(connection) == 10
