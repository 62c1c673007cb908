"""Query parameters: unknown ones are refused, known ones are read strictly."""

from collections.abc import Callable, Mapping
from datetime import UTC, date, datetime
from typing import Any

from flask import request

from api.records.problems import NotOnRecord
from api.routes.problems import WrongQuestion
from schemas.sentences import quoted

Read = Callable[[str], Any]


def day(text: str) -> date:
    """Return the day that `YYYY-MM-DD` names."""
    found = date.fromisoformat(text)
    if found.isoformat() != text:  # 20260101 and 2026-W01-4 are ISO 8601, not our form
        raise ValueError
    return found


def number(least: int, most: int) -> Read:
    """Return the reader of a whole number within bounds."""

    def read(text: str) -> int:
        value = int(text)
        if not text.isascii() or not text.isdigit() or not least <= value <= most:
            raise ValueError
        return value

    return read


def code(text: str) -> str:
    """Return a code as written."""
    if not 1 <= len(text) <= 40 or not text.isprintable():
        raise ValueError
    return text


ACCEPTED: dict[Read, str] = {day: "a day as YYYY-MM-DD", code: "a code of 1 to 40 characters"}


def asked(parameters: Mapping[str, Read]) -> dict[str, Any]:
    """Return the query parameters that were given, read; refuses what is unknown or unreadable, all at once.

    A name in the address with control characters is on no record, and one database cannot even be asked for it.
    """
    if not all(str(name).isprintable() for name in (request.view_args or {}).values()):
        raise NotOnRecord("Nothing has a name with control characters.")
    faults, found = [], {}
    for name, texts in request.args.lists():
        read, text = parameters.get(name), texts[0]
        if read is None:
            listed = ", ".join(parameters) or "none"
            faults.append(
                {"parameter": name, "detail": f"Unknown parameter; accepted: {listed}.", "code": "parameter-unknown"}
            )
            continue
        if len(texts) > 1:
            said = f"Given {len(texts)} times; accepted: once."
            faults.append({"parameter": name, "detail": said, "code": "value-not-accepted"})
            continue
        try:
            found[name] = read(text)
        except ValueError:
            said = f"Found {quoted(text)}; accepted: {ACCEPTED.get(read, 'a whole number within its bounds')}."
            faults.append({"parameter": name, "detail": said, "code": "value-not-accepted"})
    if faults:
        raise WrongQuestion(faults)
    return found


def today() -> date:
    """Return today's date in UTC, for questions that name no day."""
    return datetime.now(UTC).date()
