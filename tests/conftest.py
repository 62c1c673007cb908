"""Fresh records for tests: a migrated SQLite file each, or a PostgreSQL database each where an address is given.

The suite runs on SQLite by default. `STEELYARD_TEST_POSTGRESQL`, an address such as
`postgresql+psycopg://postgres@127.0.0.1/postgres`, runs the same tests on PostgreSQL instead.
"""

import os
import shutil
import uuid
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from sqlalchemy import Engine, create_engine, text
from sqlalchemy.engine import make_url

from api.app import create_app
from api.cli.record import migrate_record
from api.database import make_engine
from api.settings import Settings

POSTGRESQL = os.environ.get("STEELYARD_TEST_POSTGRESQL")


@pytest.fixture(scope="session")
def migrated(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Give the address of a migrated record that is copied, never used."""
    if POSTGRESQL:
        name = f"steelyard_template_{uuid.uuid4().hex[:12]}"
        _on_server(f"CREATE DATABASE {name}")
        url = _database(name)
        migrate_record(Settings(url, tmp_path_factory.mktemp("template")))
        yield url
        _on_server(f"DROP DATABASE {name} WITH (FORCE)")
    else:
        folder = tmp_path_factory.mktemp("template")
        migrate_record(Settings(f"sqlite:///{folder / 'record.db'}", folder))
        yield f"sqlite:///{folder / 'record.db'}"


@pytest.fixture
def settings(migrated: str, tmp_path: Path) -> Iterator[Settings]:
    """Give the settings of a fresh, migrated record of its own."""
    if POSTGRESQL:
        name = f"steelyard_test_{uuid.uuid4().hex[:12]}"
        _on_server(f"CREATE DATABASE {name} TEMPLATE {make_url(migrated).database}")
        yield Settings(_database(name), tmp_path)
        _on_server(f"DROP DATABASE {name} WITH (FORCE)")
    else:
        shutil.copy(str(make_url(migrated).database), tmp_path / "record.db")
        yield Settings(f"sqlite:///{tmp_path / 'record.db'}", tmp_path)


@pytest.fixture
def engine(settings: Settings) -> Iterator[Engine]:
    """Give an engine on a fresh record."""
    made = make_engine(settings.database_url)
    yield made
    made.dispose()


@pytest.fixture
def app(settings: Settings) -> Iterator[Flask]:
    """Give the application on a fresh record."""
    made = create_app(settings)
    yield made
    made.extensions["steelyard.engine"].dispose()


@pytest.fixture
def client(app: Flask) -> FlaskClient:
    """Give a client of the application on a fresh record."""
    return app.test_client()


def _on_server(statement: str) -> None:
    server: Any = create_engine(str(POSTGRESQL), isolation_level="AUTOCOMMIT")
    with server.connect() as connection:
        connection.execute(text(statement))
    server.dispose()


def _database(name: str) -> str:
    return make_url(str(POSTGRESQL)).set(database=name).render_as_string(hide_password=False)
