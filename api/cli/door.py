"""Files through the same strict door as the web: every fault told at once, with its place."""

from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click
from marshmallow import ValidationError

from api.metrology.submission import Submission
from schemas.faults import faults_from
from schemas.strict_json import NotStrictJson, strict_json
from schemas.submission import submission_of

T = TypeVar("T")


class WrongShape(click.ClickException):
    """A file does not have the right shape: a line for each fault, with its place."""

    def __init__(self, lines: list[str]) -> None:
        super().__init__("\n  ".join(["The file does not have the right shape:", *lines]))
        self.lines = lines


def read_submission(file: Path) -> tuple[Any, Submission]:
    """Return a submission file's JSON and what it holds; says every fault at once where it does not fit."""
    content = through_the_door(file.read_bytes(), lambda parsed: parsed)
    return content, in_shape(content, submission_of)


def through_the_door(body: bytes, shape: Callable[[Any], T]) -> T:
    """Return what a shape makes of a JSON text, or tell every fault with its place."""
    try:
        content = strict_json(body)
    except NotStrictJson as error:
        raise click.ClickException(f"{error.pointer}: {error.sentence}") from None
    return in_shape(content, shape)


def in_shape(content: Any, shape: Callable[[Any], T], place: str = "") -> T:
    """Return what a shape makes of parsed JSON, or tell every fault with its place (`WrongShape`)."""
    try:
        return shape(content)
    except ValidationError as error:
        faults, more = faults_from(error.messages, content)
        lines = [f"{place} {fault['pointer']}: {fault['detail']}".strip() for fault in faults]
        raise WrongShape([*lines, *(["and more"] if more else [])]) from None
