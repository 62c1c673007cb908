"""A visit that may have been sent twice, under two ids: by two apps, or by one that was installed anew.

Flagged on whichever arrives later, and closed by a person: it is a double, and void, or it is not. Nothing is merged.
"""

from typing import Any, Final

from sqlalchemy import Connection

from api.metrology.judgement import Flag
from api.metrology.submission import Submission
from api.queries.doubles import about_the_time
from api.queries.judgements import answers_of
from api.records.calibration import Calibration
from api.records.visit_measured import at_the_same_time, measured_in

POSSIBLE_DUPLICATE: Final = "possible-duplicate"
# No id of a record: what is only checked has none, and is held against everything.
NO_ID: Final = ""


def possible_duplicates(connection: Connection, sent: Submission, content: Any, own_id: str = NO_ID) -> list[Flag]:
    """Return a flag where a record that stands has the same readings of the same scale at the same time; the first one."""
    performed = (sent.performed.start, sent.performed.end)
    for one in about_the_time(connection, sent.site, sent.device, performed, own_id):
        if at_the_same_time(performed, one.performed) and measured_in(one.content) == measured_in(content):
            said = (
                f"Calibration {one.calibration} has the same readings of this scale at the same time; is it one visit?"
            )
            return [Flag(POSSIBLE_DUPLICATE, said, {"calibration": one.calibration}, "#/performed")]
    return []


def still_possible(connection: Connection, record: Calibration) -> list[Flag]:
    """Return the flag of a record that is judged again, unless a person has closed it."""
    found = [flag for flag in record.flags if flag.code == POSSIBLE_DUPLICATE]
    if not found or is_closed(connection, record):
        return []
    return [Flag(flag.code, flag.sentence, flag.facts, flag.pointer) for flag in found]


def is_closed(connection: Connection, record: Calibration) -> bool:
    """Return whether a person has said that a record is no double of the other."""
    answers = answers_of(connection, record.site, record.calibration)
    return any(answer.code == POSSIBLE_DUPLICATE for answer in answers)
