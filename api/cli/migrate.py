"""`steelyard migrate`: bring the database to this program's tables, and begin the register where it is empty."""

import click


@click.command(short_help="Make or update the tables of the record.")
def migrate() -> None:
    """Make or update the tables of the record.

    Run it once before the first start and after every upgrade; it may be run again at any time. Nothing that was
    recorded is changed. A new record starts with a policy whose numbers each say where they come from.
    """
    from api.cli.record import migrate_record
    from api.settings import settings_from_environment

    settings = settings_from_environment()
    began = migrate_record(settings)
    click.echo(f"The record at {settings.shown_database} is up to date{'; its register begins' if began else ''}.")
