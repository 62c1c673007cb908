"""Query parameters: one table of them for the routes and for the contract. Unknown ones are refused, known ones are read
strictly."""

from datetime import UTC, date, datetime
from typing import Any, get_args

from flask import request

from api.exchange.template import TemplateLayout
from api.metrology.mass import KILOGRAMS_PER
from api.records.file_import import ImportMode
from api.records.listing import MOST_ITEMS, USUAL_ITEMS
from api.records.problems import NotOnRecord
from api.routes.list_filters import FILTERS
from api.routes.problems import WrongQuestion
from api.routes.question_kinds import (
    LAST_ENTRY,
    LONGEST_CURSOR,
    Question,
    code,
    day,
    number,
    read_cursor,
    read_mass,
    word,
)
from schemas.sentences import quoted

TEMPLATES: tuple[str, ...] = get_args(TemplateLayout)
IMPORT_MODES: tuple[str, ...] = get_args(ImportMode)

QUESTIONS: dict[str, Question] = {
    "on": day("The day that counts; today where left out."),
    "known_at": number(0, LAST_ENTRY, "As known at log entry N; as known now where left out."),
    "set": code("The weight set whose pieces in force that day are used; none where left out."),
    "technician": code("Who goes: no piece over the limit on that record is used."),
    "largest_piece": Question(
        read_mass,
        f"a mass with its unit, for example 10 kg (units: {', '.join(KILOGRAMS_PER)})",
        {"type": "string", "pattern": r"^[0-9]{1,9}(\.[0-9]{1,9})? [^ ]+$", "examples": ["10 kg"]},
        "The heaviest piece that may be lifted, with its UCUM unit: 10 kg. Of this and the technician's the lower counts.",
    ),
    "ward": code("The ward where it will be tested; its own where left out."),
    "site": code("Only of this site."),
    "revision": number(1, 999_999, "That revision; the newest where left out."),
    "judgement": number(1, 999_999, "That judgement of the revision; the newest where left out."),
    "after": number(0, LAST_ENTRY, "Entries after this log number; from the first where left out."),
    "limit": number(1, MOST_ITEMS, f"At most so many; {USUAL_ITEMS} where left out."),
    "cursor": Question(
        read_cursor,
        f"a cursor as `next` gave it, of 1 to {LONGEST_CURSOR} letters, digits, - and _",
        {"type": "string", "pattern": f"^[0-9A-Za-z_-]{{1,{LONGEST_CURSOR}}}$"},
        "Where the list goes on: `next` of the part before, with the same filters. From its beginning where left out.",
    ),
    "within_days": number(0, 3660, "Due within so many days."),
    "profile": code("The import profile by which the file is read."),
    "name": code("A name for the file, to know it again."),
    "mode": word(
        IMPORT_MODES,
        "each: every one for itself; all: all are kept or none. Left out, a batch takes each, a file all.",
    ),
    "layout": word(
        TEMPLATES,
        "What a row of the template is: a reading (where left out), or a whole visit.",
    ),
    "reject_limit": number(0, 1_000_000, "In the mode each: no more refused visits than this; 0 where left out."),
    "reading": Question(
        read_mass,
        f"a reading with its unit, for example 70.5 kg (units: {', '.join(KILOGRAMS_PER)})",
        {"type": "string", "pattern": r"^[0-9]{1,9}(\.[0-9]{1,9})? [^ ]+$", "examples": ["70.5 kg"]},
        "One reading as the display shows it, with its UCUM unit: 70.5 kg. A table where left out.",
    ),
    **FILTERS,
}


def parameter_of(name: str) -> str:
    """Return the query parameter of a question: what is after the dot, where lists ask for the same in words of their own."""
    return name.rpartition(".")[2]


def asked(*names: str) -> dict[str, Any]:
    """Return the query parameters that were given, read; refuses what is unknown or unreadable, all at once.

    A name in the address with control characters is on no record, and one database cannot even be asked for it.
    """
    if not all(str(name).isprintable() for name in (request.view_args or {}).values()):
        raise NotOnRecord("Nothing has a name with control characters.")
    faults: list[dict[str, str]] = []
    found: dict[str, Any] = {}
    known = {parameter_of(name): QUESTIONS[name] for name in names}
    for name, texts in request.args.lists():
        if name not in known:
            listed = ", ".join(known) or "none"
            faults.append(_fault(name, f"Unknown parameter; accepted: {listed}.", "parameter-unknown"))
        elif len(texts) > 1:
            faults.append(_fault(name, f"Given {len(texts)} times; accepted: once."))
        else:
            try:
                found[name] = known[name].read(texts[0])
            except ValueError:
                faults.append(_fault(name, f"Found {quoted(texts[0])}; accepted: {known[name].accepted}."))
    if faults:
        raise WrongQuestion(faults)
    return found


def _fault(name: str, detail: str, code: str = "value-not-accepted") -> dict[str, str]:
    return {"parameter": name, "detail": detail, "code": code}


def today() -> date:
    """Return today's date in UTC, for questions that name no day."""
    return datetime.now(UTC).date()
