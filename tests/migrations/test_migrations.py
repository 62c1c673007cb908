"""Migrations: one line of them, up and down with data in the tables, and the tables are those that the models say."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, Engine, inspect, text
from sqlalchemy.exc import DBAPIError

import migrations
from api.cli.record import migrate_record
from api.database import make_engine, reading, transaction, unit_of_work
from api.models.everything import TABLES
from api.settings import Settings
from tests.doors import example_bytes, send
from tests.filled_record import copy_of, door_to, kept_tables, rows

FUNCTIONS = "SELECT proname FROM pg_proc JOIN pg_namespace n ON n.oid = pronamespace WHERE nspname = 'public'"


@pytest.fixture
def filled(registered: str, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Settings]:
    """Give the settings of a record with the network's register and a calibration in it."""
    with copy_of(registered, tmp_path_factory.mktemp("filled")) as settings:
        with door_to(settings) as client:
            assert send(client, example_bytes()).status_code == 201
        yield settings


def config_on(connection: Connection | None = None) -> Config:
    config = Config()
    config.set_main_option("script_location", str(Path(migrations.__file__).parent))
    if connection is not None:
        config.attributes["connection"] = connection
    return config


def moved(engine: Engine, to: str) -> None:
    with transaction(engine) as connection:
        (command.downgrade if to == "base" else command.upgrade)(config_on(connection), to)


def revision_of(engine: Engine) -> str | None:
    with reading(engine) as connection:
        return MigrationContext.configure(connection).get_current_revision()


def triggers(engine: Engine) -> set[str]:
    asked = (
        "SELECT tgname FROM pg_trigger WHERE NOT tgisinternal"
        if engine.dialect.name == "postgresql"
        else "SELECT name FROM sqlite_master WHERE type = 'trigger'"
    )
    with reading(engine) as connection:
        return set(connection.scalars(text(asked)))


def test_there_is_one_line_of_migrations_with_one_head() -> None:
    script = ScriptDirectory.from_config(config_on())

    assert len(script.get_heads()) == 1
    assert len(script.get_bases()) == 1
    assert all(revision.doc for revision in script.walk_revisions())


def test_no_migration_imports_the_program_it_belongs_to() -> None:
    for file in (Path(migrations.__file__).parent / "versions").glob("*.py"):
        lines = file.read_text("utf-8").splitlines()
        assert [line for line in lines if line.startswith(("import api", "from api"))] == []


def test_the_tables_are_those_that_the_models_say(engine: Engine) -> None:
    with reading(engine) as connection:
        command.check(config_on(connection))

    assert set(inspect(engine).get_table_names()) == {*TABLES, "alembic_version"}


def test_a_column_that_the_models_do_not_know_is_found(engine: Engine) -> None:
    with transaction(engine) as connection:
        connection.execute(text("ALTER TABLE job ADD COLUMN colour TEXT"))

    with reading(engine) as connection, pytest.raises(command.util.CommandError, match="colour"):
        command.check(config_on(connection))


def test_down_and_up_again_with_data_leaves_an_empty_record_that_takes_calibrations(filled: Settings) -> None:
    engine = make_engine(filled.database_url)
    head, before = revision_of(engine), triggers(engine)
    assert rows(filled)["content"] == 1

    moved(engine, "base")
    left, stands = set(inspect(engine).get_table_names()), revision_of(engine)
    if engine.dialect.name == "postgresql":
        with reading(engine) as connection:
            assert connection.scalars(text(FUNCTIONS)).all() == []
    moved(engine, "head")

    assert (left, stands, revision_of(engine)) == ({"alembic_version"}, None, head)
    assert triggers(engine) == before
    counted = {name: count for name, count in rows(filled).items() if count}
    assert counted == {"log_head": 1}
    assert migrate_record(filled) is True
    with door_to(filled) as client:
        assert send(client, example_bytes()).status_code == 201
    engine.dispose()


def test_migrating_again_changes_nothing(filled: Settings) -> None:
    before = rows(filled)

    began = migrate_record(filled)

    assert began is False
    assert rows(filled) == before


def test_every_kept_table_has_its_triggers_after_the_migration(engine: Engine) -> None:
    found = triggers(engine)

    if engine.dialect.name == "postgresql":
        assert found == {
            f"{table}_is_{word}" for table in (*kept_tables(), "sealed") for word in ("kept", "not_emptied")
        }
    else:
        assert found == {f"{table}_keeps_{act}" for table in (*kept_tables(), "sealed") for act in ("update", "delete")}


def test_a_migration_that_breaks_half_way_leaves_the_record_as_it_was(filled: Settings) -> None:
    engine = make_engine(filled.database_url)
    head, before = revision_of(engine), rows(filled)

    def breaks(connection: Connection) -> None:
        command.downgrade(config_on(connection), "base")
        connection.execute(text("SELECT colour FROM nothing"))

    with pytest.raises(DBAPIError):
        unit_of_work(engine, breaks)

    assert revision_of(engine) == head
    assert rows(filled) == before
    engine.dispose()
