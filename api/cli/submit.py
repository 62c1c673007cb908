"""`steelyard submit`: send submissions to a running service, as a field app would."""

from pathlib import Path

import click


@click.command(short_help="Send calibrations to a running service.")
@click.argument("files", nargs=-1, required=True, type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option("--to", help="The service. Default: http://127.0.0.1 with the port of STEELYARD_PORT, else 8350.")
@click.option(
    "--id", "calibration", help="The calibration's id (a UUID); by default it follows from the file's content."
)
@click.option("--by", default="unnamed", show_default=True, help="The code of whoever sends.")
def submit(files: tuple[Path, ...], to: str | None, calibration: str | None, by: str) -> None:
    """Send FILES, one calibration each, to a running service, with the key that STEELYARD_KEY holds.

    The same file sent twice is kept once: without --id its id follows from its content. Each answer is printed: what was
    judged, what was flagged, which certificate was issued.
    """
    from contextlib import closing

    from api.cli.client import Client, address_here, id_of
    from api.settings import settings_from_environment

    if calibration is not None and len(files) > 1:
        raise click.ClickException("--id is for one file; leave it out for several.")
    refused, settings = 0, settings_from_environment()
    with closing(Client(to or address_here(settings.port), settings.key)) as client:
        for file in files:
            body = file.read_bytes()
            answer = client.put(f"/v1/calibrations/{calibration or id_of(body)}", body, by=by)
            click.echo(f"{file.name}: {_told(answer.status, answer.json())}")
            refused += answer.status >= 400
    if refused:
        raise click.exceptions.Exit(1)


def _told(status: int, answer: dict[str, object]) -> str:
    from api.cli.told import told_faults, told_receipt

    return told_faults(answer) if status >= 400 else told_receipt(answer)
