"""The record of this installation, for the commands: migrated, checked, opened."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

import click
from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Engine
from sqlalchemy.exc import SQLAlchemyError

import migrations
from api.actions.begin_register import begin_register
from api.database import make_engine, reading, transaction, unit_of_work
from api.settings import Settings


def _config() -> Config:
    config = Config()
    config.set_main_option("script_location", str(Path(migrations.__file__).parent))
    return config


def migrate_record(settings: Settings) -> bool:
    """Bring the tables up to date and begin an empty register; return whether it was empty."""
    engine = _reached(settings)
    config = _config()
    with transaction(engine) as connection:
        config.attributes["connection"] = connection
        command.upgrade(config, "head")
    began = unit_of_work(engine, lambda connection: begin_register(connection, moment=datetime.now(UTC)))
    engine.dispose()
    return began


def _reached(settings: Settings) -> Engine:
    """An engine on a database that answers; else say in a sentence why it does not."""
    try:
        engine = make_engine(settings.database_url)
        with engine.connect():
            return engine
    except (SQLAlchemyError, ImportError) as error:
        said = str(getattr(error, "orig", None) or error).strip().splitlines()[0]
        raise click.ClickException(f"The record at {settings.shown_database} cannot be reached: {said}") from None


@contextmanager
def opened_record(settings: Settings) -> Iterator[Engine]:
    """Give an engine on a record whose tables are up to date; else say which command mends it."""
    engine = _reached(settings)
    try:
        _check_tables(engine, settings)
        yield engine
    finally:
        engine.dispose()


def _check_tables(engine: Engine, settings: Settings) -> None:
    newest = ScriptDirectory.from_config(_config()).get_current_head()
    with reading(engine) as connection:
        stands_at = MigrationContext.configure(connection).get_current_revision()
    if stands_at != newest:
        stands = f"at revision {stands_at}" if stands_at else "not there yet"
        raise click.ClickException(
            f"The record at {settings.shown_database} is {stands}; this program needs {newest}. Run: steelyard migrate"
        )
