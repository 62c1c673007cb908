"""`steelyard check`: what a submission would be judged, storing nothing."""

from pathlib import Path

import click


@click.command(short_help="Judge a calibration; keep nothing.")
@click.argument("file", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option("--working", is_flag=True, help="Print the whole working as JSON: every number on the way.")
def check(file: Path, working: bool) -> None:
    """Judge FILE, a submission, against the register as it is now. Nothing is kept.

    Use it before you leave the ward: it says what is missing, what would be flagged, and what each test comes to. It
    ends with status 1 where the shape is wrong, and with 0 whatever the verdict.
    """
    import json
    from datetime import UTC, datetime

    from api.answers.check import check as judged_now
    from api.cli.door import read_submission
    from api.cli.record import opened_record
    from api.cli.told import told_flag
    from api.cli.told_working import told_working
    from api.database import reading
    from api.records.documents import document_of
    from api.settings import settings_from_environment

    content, sent = read_submission(file)
    with opened_record(settings_from_environment()) as engine, reading(engine) as connection:
        checked = judged_now(connection, sent, content, at=datetime.now(UTC))
    if working:
        click.echo(json.dumps(checked.working, indent=2, ensure_ascii=False))
        return
    click.echo(told_working(checked.working) or "Nothing was measured.")
    for word, flags in (("flag", checked.flags), ("note", checked.notes)):
        for flag in flags:
            click.echo(told_flag(word, document_of(flag)))
    if not checked.flags:
        click.echo("Nothing would be flagged: it would be released at once.")
