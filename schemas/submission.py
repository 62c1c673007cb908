"""Submissions of every version there is: the whole visit, as a field app sends it.

A version that was published is accepted for good: it has a line in `VERSIONS`. One that is newer than this program is not
read, only recognised, so that it can be kept until a program that knows it takes it up. What every version has, now and
later: `schema`, `site`, and `device` where one is named.
"""

import re
from collections.abc import Callable
from typing import Any

from marshmallow import ValidationError

from api.metrology.readings import Phase
from api.metrology.submission import Submission
from api.metrology.terms import Code, Uuid
from api.records.quarantine import NewerSubmission
from schemas.faults import merged
from schemas.sentences import MISSING
from schemas.strict_json import strict_json
from schemas.wire_shape import Faults, checked_as_sent, value_of, wire_shape


def _repeated_numbers(phase: dict[str, Any]) -> Faults:
    """A reading is known by its number: within a phase each stands once, whatever else is wrong with its readings."""
    sent = phase.get("readings")
    seen: set[int] = set()
    faults: dict[int, Faults] = {}
    for place, reading in enumerate(sent if isinstance(sent, list) else ()):
        number = reading.get("seq") if isinstance(reading, dict) else None
        if type(number) is not int:
            continue
        if number in seen:
            faults[place] = {"seq": [f"Found {number} again; accepted: a number of its own for each reading."]}
        seen.add(number)
    return {"readings": faults} if faults else {}


checked_as_sent(Phase, _repeated_numbers)
SubmissionSchema = wire_shape(Submission)
_LOADED_ONCE = SubmissionSchema()
_CODE, _UUID = value_of(Code), value_of(Uuid)


def _version_1(content: Any) -> Submission:
    loaded: Submission = _LOADED_ONCE.load(content)
    return loaded


# How each version that was ever published is read; a line stays for good.
VERSIONS: dict[str, Callable[[Any], Submission]] = {"calibration/1": _version_1}
_NAMED = re.compile(r"calibration/([1-9][0-9]{0,3})", re.ASCII)


def submission_from(body: bytes) -> Submission:
    """Return the submission that a body holds; raises `NotStrictJson` or marshmallow's ValidationError with all faults."""
    return submission_of(strict_json(body))


def submission_of(content: Any) -> Submission:
    """Return the submission of parsed JSON; raises marshmallow's ValidationError with all faults."""
    schema = content.get("schema") if isinstance(content, dict) else None
    read = VERSIONS.get(schema, _version_1) if isinstance(schema, str) else _version_1
    return read(content)


def submission_or_newer(content: Any) -> Submission | NewerSubmission:
    """Return the submission of parsed JSON, or what can be said of one in a newer schema; raises as `submission_of`."""
    schema = content.get("schema") if isinstance(content, dict) else None
    if isinstance(schema, str) and _number(schema) > max(map(_number, VERSIONS)):
        return _newer(schema, content)
    return submission_of(content)


def submission_with_id(content: Any) -> tuple[str, Submission | NewerSubmission]:
    """Return a submission with the id in its body, where it has to stand; raises as `submission_of`, all faults at once."""
    faults: Any = {}
    try:
        sent = submission_or_newer(content)
    except ValidationError as error:
        faults = error.messages
    if isinstance(content, dict) and (id_faults := _faults_of_id(content)):
        faults = merged(faults, {"id": id_faults}) if "id" not in faults else faults
    if faults:
        raise ValidationError(faults)
    return content["id"].lower(), sent


def _faults_of_id(content: dict[str, Any]) -> list[str]:
    if "id" not in content:
        return [MISSING]
    try:
        _UUID.read(content["id"])
    except ValidationError as error:
        return list(error.messages)
    return []


def _number(schema: str) -> int:
    """The number of a version's name; 0 of what is no name."""
    named = _NAMED.fullmatch(schema)
    return int(named[1]) if named else 0


def _newer(schema: str, content: dict[str, Any]) -> NewerSubmission:
    """Whose it is must be known; whatever else it holds is for a later program."""
    if "site" not in content:
        raise ValidationError({"site": [MISSING]})
    try:
        site = _CODE.read(content["site"])
    except ValidationError as error:
        raise ValidationError({"site": error.messages}) from None
    return NewerSubmission(schema, site, _code_or_none(content.get("device")))


def _code_or_none(value: Any) -> str | None:
    try:
        code: str = _CODE.read(value)
    except ValidationError:
        return None
    return code
