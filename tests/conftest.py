"""Fresh records for tests: a migrated SQLite file each, or a PostgreSQL database each where an address is given.

The suite runs on SQLite by default. `STEELYARD_TEST_POSTGRESQL`, an address such as
`postgresql+psycopg://postgres@127.0.0.1/postgres`, runs the same tests on PostgreSQL instead.
"""

import os
from collections.abc import Iterator
from pathlib import Path

import pytest
from flask import Flask
from flask.testing import FlaskClient
from hypothesis import HealthCheck
from hypothesis import settings as properties
from sqlalchemy import Engine

from api.app import create_app
from api.database import make_engine
from api.demo.network import register_entries
from api.settings import Settings
from tests.filled_record import TODAY, copy_of, new_record, put_register

# A busy machine is no fault of a property: its examples are counted, never timed.
properties.register_profile("counted", deadline=None, suppress_health_check=[HealthCheck.too_slow])
properties.load_profile("counted")

POSTGRESQL = os.environ.get("STEELYARD_TEST_POSTGRESQL")


@pytest.fixture(scope="session")
def empty(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Give the address of a migrated record that is copied, never used."""
    with new_record(POSTGRESQL, tmp_path_factory.mktemp("empty")) as url:
        yield url


@pytest.fixture(scope="session")
def registered(empty: str, tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Give the address of a record with the network's register, which is copied, never used."""
    with copy_of(empty, tmp_path_factory.mktemp("registered")) as settings:
        put_register(settings.database_url, register_entries(TODAY))
        yield settings.database_url


@pytest.fixture(scope="session")
def template(empty: str) -> str:
    """Give the address of the record that `settings` copies; a folder of tests may name another."""
    return empty


@pytest.fixture
def settings(template: str, tmp_path: Path) -> Iterator[Settings]:
    """Give the settings of a fresh record of its own."""
    with copy_of(template, tmp_path) as found:
        yield found


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
