"""`steelyard serve`: the API and the published site on one port."""

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
@click.option(
    "--bind",
    metavar="ADDRESS",
    help="The address to listen on. Default: STEELYARD_BIND, else 127.0.0.1.",
)
@click.option("--no-work", is_flag=True, help="Do not take long jobs here; run steelyard work beside.")
def serve(port: int | None, workers: int, bind: str | None, no_work: bool) -> None:
    """Serve the API and the published site.

    Every request needs a key (steelyard keys), unless STEELYARD_DOOR=open says that none is asked for, which is for a
    first look on the machine itself. It listens on 127.0.0.1; to let others in, put a reverse proxy with TLS before it, on
    this machine or with --bind on another. Stop it with Ctrl-C.
    """
    from dataclasses import replace

    from api.cli.ports import free_port
    from api.cli.record import opened_record
    from api.cli.server import run_server
    from api.settings import checked_address, settings_from_environment

    settings = settings_from_environment()
    if bind is not None:
        settings = replace(settings, bind=checked_address("--bind", bind)).checked()
    with opened_record(settings) as engine:
        if workers > 1 and engine.dialect.name == "sqlite":
            raise click.ClickException(
                "SQLite has one writer: use --workers 1, or PostgreSQL by STEELYARD_DATABASE_URL."
            )
    chosen = free_port(settings.bind, settings.port if port is None else port)
    run_server(settings, chosen, workers, take_jobs=not no_work)
