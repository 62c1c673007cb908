"""`steelyard register`: put entities on the register from a JSON or CSV file."""

from datetime import datetime
from pathlib import Path
from typing import Any

import click

from api.records.register import KINDS

MOST_FAULTS = 100


@click.command(short_help="Put entities on the register from a file.")
@click.argument("kind", type=click.Choice([kind.name for kind in KINDS]))
@click.argument("file", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option(
    "--valid-from", type=click.DateTime(["%Y-%m-%d"]), help="The day from which it holds, where the file does not say."
)
@click.option("--by", default="unnamed", show_default=True, help="The code of whoever acts.")
def register(kind: str, file: Path, valid_from: datetime | None, by: str) -> None:
    """Put what FILE holds on the register: one KIND of entity, all of the file or none of it.

    JSON: a list of {"valid_from", "record"}, or what steelyard show prints, changed and put back: refused where it was
    changed in the meantime. CSV: one entity a row; a column for each field, parts joined by a dot (tolerance.scheme),
    masses as "200 kg", lists as JSON text; an optional column valid_from. Each becomes a new revision; what the register
    already says is left alone.
    """
    from api.cli.record import opened_record
    from api.database import unit_of_work
    from api.metrology.refusals import Refusal
    from api.settings import settings_from_environment

    changes = _changes(kind, file, valid_from, by)
    try:
        with opened_record(settings_from_environment()) as engine:
            told = unit_of_work(engine, lambda connection: [_changed(connection, change) for change in changes])
    except Refusal as refusal:
        raise click.ClickException(f"{refusal.sentence} Nothing of the file was kept.") from None
    new = sum(is_new for _, is_new in told)
    click.echo(f"{new} new revisions, {len(told) - new} already so.")
    for revision, _ in told:
        for note in revision.notes:
            click.echo(f"note {note.code} on {revision.key}: {note.sentence} {note.way_out} ({note.source})")


def _changed(connection: Any, change: Any) -> tuple[Any, bool]:
    """What was put on the register, with its notes, and whether it is new."""
    from api.actions.change_register import change_register
    from api.answers.register_notes import noted

    revision, new = change_register(connection, change)
    return noted(connection, revision, change.valid_from), new


def _changes(kind: str, file: Path, valid_from: datetime | None, by: str) -> list[Any]:
    from datetime import UTC

    from api.cli.door import WrongShape, in_shape
    from api.keeping.register_change import RegisterChange
    from api.records.register import KIND_NAMED
    from schemas.register import put_back_from

    known = KIND_NAMED[kind]
    moment = datetime.now(UTC)
    changes, faults = [], []
    for place, item in _items(kind, file, valid_from):
        try:
            asked = in_shape(item, lambda content: put_back_from(known, content), place)
        except WrongShape as wrong:
            faults += wrong.lines
            continue
        key = getattr(asked.record, known.key_field)
        changes.append(RegisterChange(kind, key, asked.valid_from, asked.record, by, moment, taken_out=asked.taken_out))
    if faults:
        raise WrongShape([*faults[:MOST_FAULTS], *(["and more"] if len(faults) > MOST_FAULTS else [])])
    return changes


def _rows(record: type, file: Path) -> list[tuple[str, Any]]:
    from csv import Error

    from schemas.csv_rows import WrongCsv, rows_from

    try:
        return [(f"line {line}", item) for line, item in rows_from(record, file.read_text("utf-8-sig"))]
    except UnicodeDecodeError as error:
        said = f"byte {error.start} is not UTF-8; save the table as CSV in UTF-8."
    except (WrongCsv, Error) as error:
        said = str(error)
    raise click.ClickException(f"{file.name}: {said} Nothing of the file was kept.")


def _items(kind: str, file: Path, valid_from: datetime | None) -> list[tuple[str, Any]]:
    """The changes of a file as parsed JSON, each with its place in the file."""
    from api.cli.door import through_the_door
    from api.records.register import KIND_NAMED

    if file.suffix.lower() == ".csv":
        items = _rows(KIND_NAMED[kind].record, file)
    else:
        found = through_the_door(file.read_bytes(), lambda content: content)
        items = [(f"item {i}", item) for i, item in enumerate(found if isinstance(found, list) else [found], start=1)]
    if valid_from is not None:
        day = valid_from.date().isoformat()
        return [(place, {"valid_from": day, **item} if isinstance(item, dict) else item) for place, item in items]
    return items
