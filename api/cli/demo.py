"""`steelyard demo`: an invented hospital network, sent over HTTP to a fresh record, published and served."""

import click


@click.command(short_help="Show everything on an invented hospital network.")
@click.option("--once", is_flag=True, help="Do everything and end, instead of serving until stopped.")
@click.option(
    "--port", type=click.IntRange(0, 65535), help="The port. Default: STEELYARD_PORT, else 8350; 0 takes any free one."
)
def demo(once: bool, port: int | None) -> None:
    """Show everything on an invented hospital network, in a record of its own.

    A fresh SQLite record is made in the folder `demo` of STEELYARD_FOLDER (an older demo there is replaced), the service
    is started on it, and the network and two years of its calibrations are sent to it over HTTP, as field apps would.
    Then the site is published, and API and site are served on one port of this machine.
    """
    from api.cli.demonstration import demonstrate
    from api.settings import settings_from_environment

    settings = settings_from_environment()
    demonstrate(settings, settings.port if port is None else port, once=once)
