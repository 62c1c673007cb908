"""`calibration/1`: the whole visit, as a field app sends it."""

from typing import Any

from api.metrology.readings import Phase
from api.metrology.submission import Submission
from schemas.strict_json import strict_json
from schemas.wire_shape import Faults, checked_as_sent, wire_shape


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


def submission_from(body: bytes) -> Submission:
    """Return the submission that a body holds; raises `NotStrictJson` or marshmallow's ValidationError with all faults."""
    return submission_of(strict_json(body))


def submission_of(content: Any) -> Submission:
    """Return the submission of parsed JSON; raises marshmallow's ValidationError with all faults."""
    loaded: Submission = _LOADED_ONCE.load(content)
    return loaded
