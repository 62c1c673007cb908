"""Query parameters: one table of them for the routes and for the contract. Unknown ones are refused, known ones are read
strictly."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import Any, get_args

from flask import request

from api.exchange.template import TemplateLayout
from api.metrology.device_events import EventKind
from api.metrology.mass import KILOGRAMS_PER, Mass, mass
from api.metrology.refusals import Refusal
from api.records.file_import import ImportMode
from api.records.problems import NotOnRecord
from api.routes.problems import WrongQuestion
from schemas.sentences import quoted

LAST_ENTRY = 2**31 - 1  # what the log number's column holds on both databases
LONGEST_CODE = 40
TEMPLATES: tuple[str, ...] = get_args(TemplateLayout)
IMPORT_MODES: tuple[str, ...] = get_args(ImportMode)
EVENT_KINDS: tuple[str, ...] = get_args(EventKind)


@dataclass(frozen=True, slots=True)
class Question:
    """One query parameter: how it is read, what is accepted in words, and how the contract describes it."""

    read: Callable[[str], Any]
    accepted: str
    schema: dict[str, Any]
    description: str


def _day(description: str) -> Question:
    def read(text: str) -> date:
        found = date.fromisoformat(text)
        if found.isoformat() != text:  # 20260101 and 2026-W01-4 are ISO 8601, not our form
            raise ValueError
        return found

    return Question(read, "a day as YYYY-MM-DD", {"type": "string", "format": "date"}, description)


def _number(least: int, most: int, description: str) -> Question:
    def read(text: str) -> int:
        value = int(text)
        if not text.isascii() or not text.isdigit() or not least <= value <= most:
            raise ValueError
        return value

    schema = {"type": "integer", "minimum": least, "maximum": most}
    return Question(read, f"a whole number from {least} to {most}", schema, description)


def _code(description: str) -> Question:
    def read(text: str) -> str:
        if not 1 <= len(text) <= LONGEST_CODE or not text.isprintable():
            raise ValueError
        return text

    schema = {"type": "string", "minLength": 1, "maxLength": LONGEST_CODE}
    return Question(read, f"a code of 1 to {LONGEST_CODE} characters", schema, description)


def _reading(text: str) -> Mass:
    """A mass as a display shows it: a number that is not negative, a space, a UCUM unit."""
    number, space, unit = text.partition(" ")
    if not space or number.startswith("-"):
        raise ValueError
    try:
        return mass(number, unit)
    except Refusal:
        raise ValueError from None


def _one_of(words: tuple[str, ...]) -> Callable[[str], str]:
    def read(text: str) -> str:
        if text not in words:
            raise ValueError
        return text

    return read


QUESTIONS: dict[str, Question] = {
    "on": _day("The day that counts; today where left out."),
    "known_at": _number(0, LAST_ENTRY, "As known at log entry N; as known now where left out."),
    "set": _code("The weight set whose pieces in force that day are used; none where left out."),
    "technician": _code("Who goes: no piece over the limit on that record is used."),
    "largest_piece": Question(
        _reading,
        f"a mass with its unit, for example 10 kg (units: {', '.join(KILOGRAMS_PER)})",
        {"type": "string", "pattern": r"^[0-9]{1,9}(\.[0-9]{1,9})? [^ ]+$", "examples": ["10 kg"]},
        "The heaviest piece that may be lifted, with its UCUM unit: 10 kg. Of this and the technician's the lower counts.",
    ),
    "ward": _code("The ward where it will be tested; its own where left out."),
    "site": _code("Only of this site."),
    "revision": _number(1, 999_999, "That revision; the newest where left out."),
    "judgement": _number(1, 999_999, "That judgement of the revision; the newest where left out."),
    "after": _number(0, LAST_ENTRY, "Entries after this log number; from the first where left out."),
    "limit": _number(1, 1000, "At most so many; 100 where left out."),
    "within_days": _number(0, 3660, "Due within so many days."),
    "device": _code("Only of this device, by its tag."),
    "kind": Question(
        _one_of(EVENT_KINDS),
        f"one of {', '.join(EVENT_KINDS)}",
        {"type": "string", "enum": list(EVENT_KINDS)},
        "Only events of this kind.",
    ),
    "open": Question(
        lambda text: _one_of(("true", "false"))(text) == "true",
        "true or false",
        {"type": "string", "enum": ["true", "false"]},
        "true: only what is open; false: only what is not.",
    ),
    "profile": _code("The import profile by which the file is read."),
    "name": _code("A name for the file, to know it again."),
    "mode": Question(
        _one_of(IMPORT_MODES),
        f"one of {', '.join(IMPORT_MODES)}",
        {"type": "string", "enum": list(IMPORT_MODES)},
        "each: every one for itself; all: all are kept or none. Left out, a batch takes each, a file all.",
    ),
    "layout": Question(
        _one_of(TEMPLATES),
        f"one of {', '.join(TEMPLATES)}",
        {"type": "string", "enum": list(TEMPLATES)},
        "What a row of the template is: a reading (where left out), or a whole visit.",
    ),
    "reject_limit": _number(0, 1_000_000, "In the mode each: no more refused visits than this; 0 where left out."),
    "reading": Question(
        _reading,
        f"a reading with its unit, for example 70.5 kg (units: {', '.join(KILOGRAMS_PER)})",
        {"type": "string", "pattern": r"^[0-9]{1,9}(\.[0-9]{1,9})? [^ ]+$", "examples": ["70.5 kg"]},
        "One reading as the display shows it, with its UCUM unit: 70.5 kg. A table where left out.",
    ),
}


def asked(*names: str) -> dict[str, Any]:
    """Return the query parameters that were given, read; refuses what is unknown or unreadable, all at once.

    A name in the address with control characters is on no record, and one database cannot even be asked for it.
    """
    if not all(str(name).isprintable() for name in (request.view_args or {}).values()):
        raise NotOnRecord("Nothing has a name with control characters.")
    faults: list[dict[str, str]] = []
    found: dict[str, Any] = {}
    for name, texts in request.args.lists():
        if name not in names:
            listed = ", ".join(names) or "none"
            faults.append(_fault(name, f"Unknown parameter; accepted: {listed}.", "parameter-unknown"))
        elif len(texts) > 1:
            faults.append(_fault(name, f"Given {len(texts)} times; accepted: once."))
        else:
            try:
                found[name] = QUESTIONS[name].read(texts[0])
            except ValueError:
                faults.append(_fault(name, f"Found {quoted(texts[0])}; accepted: {QUESTIONS[name].accepted}."))
    if faults:
        raise WrongQuestion(faults)
    return found


def _fault(name: str, detail: str, code: str = "value-not-accepted") -> dict[str, str]:
    return {"parameter": name, "detail": detail, "code": code}


def today() -> date:
    """Return today's date in UTC, for questions that name no day."""
    return datetime.now(UTC).date()
