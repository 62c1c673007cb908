"""`steelyard amend`: the whole content of a record as it should have been, beside the one it supersedes."""

from pathlib import Path

import click

from api.cli.acting import on_a_record, record_on


@click.command(short_help="Amend a record with a whole new content.")
@on_a_record
@click.argument("file", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option("--because", required=True, help="Why; it is kept, and the certificate says it.")
@click.option("--supersedes", metavar="DIGEST", help="The digest of the content amended. Default: of the newest one.")
def amend(
    calibration: str, site: str | None, to: str | None, by: str, file: Path, because: str, supersedes: str | None
) -> None:
    """Amend CALIBRATION with the submission in FILE, with the key that STEELYARD_PERSON_KEY holds.

    It is judged anew and waits for a person to release it. Until then what was released stands; bad news counts at once.
    """
    import json

    from api.cli.door import read_submission
    from api.cli.told import told_receipt

    read_submission(file)
    with record_on(to, calibration, site, by) as record:
        asked = {"supersedes": supersedes or record.read()["digest"], "because": because}
        body = json.dumps(asked).encode()[:-1] + b', "content": ' + file.read_bytes().strip() + b"}"
        click.echo(told_receipt(record.act("/amendments", body)))
