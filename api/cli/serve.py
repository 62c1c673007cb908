"""`steelyard serve`: the API and the published site on one loopback port."""

import click


@click.command(short_help="Serve the API and the published site.")
@click.option(
    "--port", type=click.IntRange(0, 65535), help="The port. Default: STEELYARD_PORT, else 8350; 0 takes any free one."
)
@click.option(
    "--workers",
    type=click.IntRange(1, 16),
    default=1,
    show_default=True,
    help="Processes; several only with PostgreSQL.",
)
@click.option("--no-work", is_flag=True, help="Do not take long jobs here; run steelyard work beside.")
def serve(port: int | None, workers: int, no_work: bool) -> None:
    """Serve the API and the published site on this machine only.

    It listens on 127.0.0.1 and nowhere else: there is no access control yet, so whoever reaches the port may read and
    write everything. Stop it with Ctrl-C.
    """
    from api.cli.ports import free_port
    from api.cli.record import opened_record
    from api.cli.server import run_server
    from api.settings import settings_from_environment

    settings = settings_from_environment()
    with opened_record(settings) as engine:
        if workers > 1 and engine.dialect.name == "sqlite":
            raise click.ClickException(
                "SQLite has one writer: use --workers 1, or PostgreSQL by STEELYARD_DATABASE_URL."
            )
    run_server(settings, free_port(settings.port if port is None else port), workers, take_jobs=not no_work)
