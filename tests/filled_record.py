"""Records for tests: a new one, the invented network's register in it, and copies, on SQLite or on a server."""

import shutil
import uuid
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

from alembic.script import ScriptDirectory
from flask import Flask
from flask.testing import FlaskClient
from sqlalchemy import Connection, create_engine, func, select, text
from sqlalchemy.engine import make_url

import migrations
from api.actions.change_register import change_register
from api.app import create_app
from api.cli.record import migrate_record
from api.database import make_engine, reading, unit_of_work
from api.demo.entry import Entry
from api.keeping.register_change import RegisterChange
from api.models.everything import TABLES
from api.records.register import KINDS
from api.settings import Settings
from schemas.register import change_from

# The day on which the invented network stands still in these tests: the examples of openapi/ were taken the day before.
TODAY = date(2026, 11, 25)
NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)
EXAMPLES = Path(__file__).parents[1] / "openapi" / "examples"


@contextmanager
def new_record(server: str | None, folder: Path) -> Iterator[str]:
    """Give the address of a new, migrated record, a file or a database on a server, and remove it afterwards."""
    url = f"sqlite:///{folder / 'record.db'}"
    if server:
        url = _beside(server, "new")
        _on_server(url, f"CREATE DATABASE {make_url(url).database}")
    migrate_record(Settings(url, folder))
    yield url
    _drop(url)


def put_register(url: str, entries: Iterable[Entry]) -> None:
    """Put entries on a record's register, through the wire's shapes, in one unit of work."""
    engine = make_engine(url)
    changes = []
    for entry in entries:
        kind = next(k for k in KINDS if k.collection == entry.collection)
        asked = change_from(kind, {"valid_from": entry.valid_from.isoformat(), "record": entry.record})
        changes.append(RegisterChange(kind.name, entry.key, asked.valid_from, asked.record, "demo", NOON))
    unit_of_work(engine, lambda connection: [change_register(connection, change) for change in changes])
    engine.dispose()


@contextmanager
def copy_of(url: str, folder: Path) -> Iterator[Settings]:
    """Give the settings of a copy of a record, and remove it afterwards."""
    copied = _copy(url, folder)
    yield Settings(copied, folder, open_door=True)
    _drop(copied)


@contextmanager
def door_to(settings: Settings) -> Iterator[FlaskClient]:
    """Give a client of the application on a record."""
    app: Flask = create_app(settings)
    yield app.test_client()
    app.extensions["steelyard.engine"].dispose()


def kept_tables() -> tuple[str, ...]:
    """Return the tables whose rows are kept for ever, as the migrations list them, the oldest first."""
    script = ScriptDirectory(str(Path(migrations.__file__).parent))
    found = [getattr(revision.module, "KEPT", ()) for revision in script.walk_revisions()]
    return tuple(table for tables in reversed(found) for table in tables)


def rows(settings: Settings) -> dict[str, int]:
    """Return how many rows each table of a record has."""
    engine = make_engine(settings.database_url)
    with reading(engine) as connection:
        counted = rows_seen(connection)
    engine.dispose()
    return counted


def rows_seen(connection: Connection) -> dict[str, int]:
    """Return how many rows each table has, as a connection sees it."""
    return {name: connection.scalar(select(func.count()).select_from(t)) or 0 for name, t in TABLES.items()}


def _copy(url: str, folder: Path) -> str:
    folder.mkdir(parents=True, exist_ok=True)
    if not url.startswith("postgresql"):
        shutil.copy(str(make_url(url).database), folder / "record.db")
        return f"sqlite:///{folder / 'record.db'}"
    copied = _beside(url, "copy")
    _on_server(url, f"CREATE DATABASE {make_url(copied).database} TEMPLATE {make_url(url).database}")
    return copied


def _beside(url: str, word: str) -> str:
    """The address of a database that is not yet there, on the server of another."""
    name = f"steelyard_{word}_{uuid.uuid4().hex[:12]}"
    return make_url(url).set(database=name).render_as_string(hide_password=False)


def _drop(url: str) -> None:
    if url.startswith("postgresql"):
        _on_server(url, f"DROP DATABASE {make_url(url).database} WITH (FORCE)")


def _on_server(url: str, statement: str) -> None:
    server: Any = create_engine(make_url(url).set(database="postgres"), isolation_level="AUTOCOMMIT")
    with server.connect() as connection:
        connection.execute(text(statement))
    server.dispose()
