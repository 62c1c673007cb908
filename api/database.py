"""Connections and units of work, the same on SQLite and PostgreSQL. Nothing else commits.

SQLite: write-ahead log, `synchronous=FULL` (an answered write survives a power cut), foreign keys, and BEGIN IMMEDIATE for
writers, because a read that turns into a write fails at once otherwise. PostgreSQL: READ COMMITTED with unique keys and
one locked row, repeated where two writers met.
"""

import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any, TypeVar, cast

from sqlalchemy import Connection, CursorResult, Engine, create_engine, event
from sqlalchemy.engine import make_url
from sqlalchemy.exc import DBAPIError, IntegrityError, OperationalError

T = TypeVar("T")

Values = Mapping[str, Any]

BUSY_SECONDS = 10
TRIES = 5


def make_engine(url: str, *, statement_seconds: int | None = None) -> Engine:
    """Return an engine for a database address; a SQLite file's folder is made where it is missing.

    With `statement_seconds`, PostgreSQL ends a statement that takes longer; SQLite has no such bound.
    """
    address = make_url(url)
    if address.get_backend_name() != "sqlite":
        bound = {"options": f"-c statement_timeout={statement_seconds * 1000}"} if statement_seconds else {}
        return create_engine(address, pool_pre_ping=True, connect_args=bound)
    if address.database:
        Path(address.database).parent.mkdir(parents=True, exist_ok=True)
    engine = create_engine(address, connect_args={"timeout": BUSY_SECONDS})
    event.listen(engine, "connect", _prepare_sqlite)
    event.listen(engine, "begin", _begin_sqlite)
    return engine


def _prepare_sqlite(connection: Any, _: Any) -> None:
    connection.isolation_level = None  # SQLAlchemy begins, not the driver
    # recursive_triggers: a row that REPLACE would push out counts as deleted, so that the triggers refuse it.
    for pragma in (
        "journal_mode=WAL", "synchronous=FULL", "foreign_keys=ON", "recursive_triggers=ON",
        f"busy_timeout={BUSY_SECONDS * 1000}",
    ):  # fmt: skip
        connection.execute(f"PRAGMA {pragma}")


def _begin_sqlite(connection: Connection) -> None:
    writes = connection.get_execution_options().get("writes", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def in_sight_of(engine: Engine, sites: frozenset[str] | None) -> Engine:
    """Return an engine whose every connection sees what belongs to some sites, and what belongs to none; all where None.

    The queries keep to it: a door that was given such an engine cannot ask for more.
    """
    return engine if sites is None else engine.execution_options(sites=sites)


def sites_in_sight(connection: Connection) -> frozenset[str] | None:
    """Return the sites whose things a connection sees, None where it sees all."""
    found: frozenset[str] | None = connection.get_execution_options().get("sites")
    return found


def one_number(engine: Engine, statement: str) -> int:
    """Return the number that a statement gives, 0 where it gives none: for what is asked before every request.

    It takes a connection as the pool has it, because a unit of work around one number costs several times the number.
    """
    connection = engine.raw_connection()
    try:
        cursor = connection.cursor()
        cursor.execute(statement)
        (row,) = cursor.fetchall()
        return row[0] or 0
    finally:
        connection.close()


@contextmanager
def reading(engine: Engine) -> Iterator[Connection]:
    """Give a connection that reads one consistent state and keeps nothing."""
    isolation = {} if engine.dialect.name == "sqlite" else {"isolation_level": "REPEATABLE READ"}
    with engine.connect().execution_options(**isolation) as connection:
        yield connection
        connection.rollback()


@contextmanager
def transaction(engine: Engine) -> Iterator[Connection]:
    """Give a connection whose work is committed at the end, whole or not at all."""
    with engine.connect().execution_options(writes=True) as connection, connection.begin():
        yield connection


def unit_of_work(engine: Engine, work: Callable[[Connection], T]) -> T:
    """Do one unit of work in one transaction, again from its start where two writers met, and return what it returns."""
    for attempt in range(1, TRIES + 1):
        try:
            with transaction(engine) as connection:
                return work(connection)
        except (IntegrityError, OperationalError) as error:
            if attempt == TRIES or not two_writers_met(error):
                raise
            time.sleep(0.01 * attempt)
    raise AssertionError("the last try returns or raises")


def two_writers_met(error: DBAPIError) -> bool:
    """Return whether two writers met: on PostgreSQL unique violation, serialization failure, deadlock.

    SQLite waits for the other writer when it begins.
    """
    return getattr(error.orig, "sqlstate", None) in ("23505", "40001", "40P01")


# Rows to be inserted by the text of their statement, in the order in which each statement was first given.
Inserts = dict[str, list[Any]]


def gathering(connection: Connection) -> tuple[Connection, Inserts]:
    """Return what many small writes take for a connection, and where their inserts are gathered instead of run.

    For `Prepared` inserts only.
    """
    gathered = _Gathered(connection)
    return cast(Connection, gathered), gathered.inserts


def write_inserts(connection: Connection, inserts: Inserts) -> None:
    """Run gathered inserts, each statement once with all its rows: what is pointed at was given first, and comes first."""
    for statement, rows in inserts.items():
        connection.exec_driver_sql(statement, rows)


class _Gathered:
    """What `Prepared` needs of a connection."""

    def __init__(self, connection: Connection) -> None:
        self.dialect = connection.dialect
        self.inserts: Inserts = {}

    def exec_driver_sql(self, statement: str, parameters: Any) -> None:
        self.inserts.setdefault(statement, []).extend(parameters if type(parameters) is list else (parameters,))


class Prepared:
    """A statement that is compiled once a dialect and then run as text: for what every write does, again and again.

    Working a statement out anew costs several times what running it costs. An insert takes every column of its table.
    """

    def __init__(self, statement: Any) -> None:
        self._statement: Any = statement
        self._compiled: dict[str, tuple[str, Sequence[str] | None]] = {}

    def run(self, connection: Connection, values: Values | Sequence[Values] = ()) -> CursorResult[Any]:
        """Run it with the values of one row, or of many."""
        text, order = self._compiled.get(connection.dialect.name) or self._compile(connection)
        rows = values if isinstance(values, Sequence) else (values,)
        if order is None:
            return connection.exec_driver_sql(text, list(rows) if len(rows) > 1 else dict(rows[0]) if rows else None)
        tuples = [tuple([row[name] for name in order]) for row in rows]
        return connection.exec_driver_sql(text, tuples if len(tuples) > 1 else tuples[0] if tuples else None)

    def _compile(self, connection: Connection) -> tuple[str, Sequence[str] | None]:
        made = self._statement.compile(dialect=connection.dialect)
        compiled = (str(made), made.positiontup if made.positional else None)
        self._compiled[connection.dialect.name] = compiled
        return compiled
