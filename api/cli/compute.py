"""`steelyard compute`: a calculation by its kind, a JSON object or one a line in, one JSON object a line out."""

from typing import Any, BinaryIO

import click

REFUSED = 2


@click.command(short_help="Calculate: a JSON question in, a JSON answer out.")
@click.argument("kind")
@click.argument("file", type=click.File("rb"), default="-")
def compute(kind: str, file: BinaryIO) -> None:
    """Answer a question of a KIND, read from FILE or standard input: one JSON object, or one a line.

    Each answer is one JSON object on a line. A question that is refused gives a problem object on standard error, of the
    same shape as the service's problems; the others are answered all the same, and the status is 2.

    The kinds: tolerance, uncertainty, conformity, risk, air-density, buoyancy, conventional-mass, gravity, relocation,
    minimum-weight, change-over, convert. Their questions and answers are in the contract under /v1/calculations/KIND.
    """
    refused = [
        line for line, question in enumerate(questions_in(file.read()), 1) if not _answered(kind, question, line)
    ]
    if refused:
        raise click.exceptions.Exit(REFUSED)


def questions_in(body: bytes) -> list[bytes]:
    """Return the questions of a text: its lines where each that is not blank begins an object, else the whole of it."""
    lines = [line for line in body.splitlines() if line.strip()]
    return lines if len(lines) > 1 and all(line.lstrip().startswith(b"{") for line in lines) else [body]


def _answered(kind: str, body: bytes, line: int) -> bool:
    """Answer one question on standard output, or say on standard error why not; returns whether it was answered."""
    import orjson
    from marshmallow import ValidationError

    from api.metrology.calculations.table import calculation_named
    from api.metrology.refusals import Refusal
    from api.records.documents import document_of
    from api.routes.problems import problem_object, told
    from schemas.calculations import question_of
    from schemas.strict_json import NotStrictJson, strict_json

    content: Any = None
    try:
        calculation = calculation_named(kind)
        content = strict_json(body)
        answered = document_of(calculation.work(question_of(calculation, content)))
    except (Refusal, NotStrictJson, ValidationError) as error:
        code, detail, members = told(error, content)
        click.echo(orjson.dumps(problem_object(code, detail, f"#question-{line}", **members)), err=True)
        return False
    click.echo(orjson.dumps(answered))
    return True
