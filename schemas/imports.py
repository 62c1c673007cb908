"""Visits out of files of old records through the wire's own door: every fault of shape, told at the cell that made it."""

from datetime import datetime
from typing import Any, Final, get_args
from uuid import UUID

import orjson
from marshmallow import ValidationError

from api.metrology.submission import Submission
from api.metrology.verdict import Verdict
from api.records.import_faults import CellRefused
from api.records.import_profile import ImportProfile
from api.records.import_visit import VisitRead, lacks_of
from schemas.faults import faults_from
from schemas.sentences import said
from schemas.strict_json import NotStrictJson, strict_json
from schemas.wire_shape import record_value

# A line of an export holds its record's id, and what was sent: as the text it was, or as an object.
_TEXT, _CONTENT, _ID = "bytes", "content", "calibration"
_JUDGED = "judged"
_READ = record_value(Submission).read
_VERDICTS: Final = get_args(Verdict)
_SUBMISSION = '{"schema"'


def check_shape(visit: VisitRead, now: datetime, sites: tuple[str, ...] | None) -> None:
    """Read what a visit's rows make as a submission: into `sent` and `body`, or else into faults.

    `sites` are those that the import may write to, None where it may write to all.
    """
    if visit.is_refused:
        return
    _read_content(visit)
    if visit.is_refused:
        return
    try:
        visit.sent = _READ(visit.content)
    except ValidationError as error:
        _faults_of_shape(visit, error.messages)
        return
    visit.lacks = (*lacks_of(visit.content), *visit.lacks)
    if sites is not None and visit.sent.site not in sites:
        refused = CellRefused("site-not-yours", f"This import may not write to the site {visit.sent.site!r}.")
        visit.faults.append(refused.at(visit.place_of("#/site"), visit.sent.site))
    if visit.sent.performed.end > now:
        refused = CellRefused(
            "performed-in-future", f"The visit ends on {visit.sent.performed.end.isoformat()}, which has not come yet.",
            "Mend the day; if all of them are so, the order of days in the profile is wrong.",
        )  # fmt: skip
        visit.faults.append(refused.at(visit.place_of("#/performed"), ""))


def _read_content(visit: VisitRead) -> None:
    """A line of NDJSON is a submission, or a line of an export, which has one inside; a table's was made of its cells."""
    of_line = visit.content is None
    visit.body = visit.raw.encode() if of_line else orjson.dumps(visit.content)
    try:
        visit.content = strict_json(visit.body)
    except NotStrictJson as error:
        way_out = "Send one whole submission a line." if of_line else None
        refused = CellRefused("line-not-json" if of_line else "text-not-allowed", error.sentence, way_out)
        visit.faults.append(refused.at(visit.place_of(error.pointer), visit.raw if of_line else ""))
        return
    if of_line and isinstance(visit.content, dict) and _is_of_export(visit.content):
        _unwrap(visit)


def _is_of_export(line: dict[str, Any]) -> bool:
    return "schema" not in line and (_TEXT in line or _CONTENT in line)


def named_in_line(line: str) -> str | None:
    """Return the id that a line of an export names for its record, None where the line is a submission, or cannot be read."""
    if line.startswith(_SUBMISSION):
        return None
    try:
        found = orjson.loads(line)
        return str(UUID(found[_ID])) if _is_of_export(found) else None
    except (ValueError, TypeError, AttributeError, KeyError):
        return None


def _unwrap(visit: VisitRead) -> None:
    """A line of an export is known by the id it names, and claims the verdicts that it had there."""
    if visit.calibration is None:
        refused = CellRefused(
            "id-not-uuid", f"Found {said(visit.content.get(_ID))}; accepted: a calibration's id, a UUID."
        )
        visit.faults.append(refused.at(visit.place_of(""), ""))
    visit.claimed = _claimed(visit.content.get(_JUDGED))
    if _TEXT not in visit.content:
        visit.content = visit.content[_CONTENT]
        visit.body = orjson.dumps(visit.content, default=str)
        return
    try:
        visit.body = str(visit.content[_TEXT]).encode()
        visit.content = strict_json(visit.body)
    except NotStrictJson as error:
        said_of = f"{error.pointer}: {error.sentence}"
        visit.faults.append(CellRefused("line-not-json", said_of).at(visit.place_of(""), visit.raw))


def _claimed(judged: Any) -> tuple[Verdict | None, Verdict | None] | None:
    """The verdicts as found and as left that a line says the record had; None where it says none that we know."""
    if not isinstance(judged, dict):
        return None
    found = (judged.get("as_found"), judged.get("as_left"))
    return found if all(verdict is None or verdict in _VERDICTS for verdict in found) else None


def _faults_of_shape(visit: VisitRead, messages: Any) -> None:
    faults, _ = faults_from(messages, visit.content)
    for fault in faults:
        place = visit.place_of(fault["pointer"])
        known = place.column is not None or place.field is not None
        detail = fault["detail"] if known else f"{fault['pointer']}: {fault['detail']}"
        visit.faults.append(CellRefused(fault["code"], detail).at(place, ""))


def profile_of(content: Any) -> ImportProfile:
    """Return the import profile of parsed JSON; raises marshmallow's ValidationError with all faults."""
    found: ImportProfile = record_value(ImportProfile).read(content)
    return found
