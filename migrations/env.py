"""Run migrations on the database of this installation, or on the connection that a command hands over."""

from alembic import context
from sqlalchemy import Connection

from api.database import make_engine
from api.models.everything import METADATA
from api.settings import settings_from_environment


def run_on(connection: Connection) -> None:
    """Run the migrations on an open connection, in batch mode (SQLite has no ALTER for constraints)."""
    context.configure(connection=connection, target_metadata=METADATA, render_as_batch=True, compare_type=True)
    with context.begin_transaction():
        context.run_migrations()


def run() -> None:
    """Use the connection handed over, or open one."""
    handed_over = context.config.attributes.get("connection")
    if handed_over is not None:
        run_on(handed_over)
        return
    engine = make_engine(settings_from_environment().database_url)
    with engine.connect().execution_options(writes=True) as connection:
        run_on(connection)
        connection.commit()
    engine.dispose()


run()
