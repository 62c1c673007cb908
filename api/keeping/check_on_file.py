"""A check in service judged against what is on file that day, with its working: as a calibration is, by the same register."""

from dataclasses import replace

from sqlalchemy import Connection

from api.keeping.case_on_file import on_file
from api.keeping.content import Arrived
from api.keeping.device_event import MadeOfIt
from api.keeping.event_flags import flags_of_event, moment_that_counts
from api.keeping.judge_on_file import PROGRAM
from api.metrology.in_service_check import OF_THE_WARD, judge_check
from api.metrology.judgement import Flag
from api.metrology.readings import Phase, Reading
from api.metrology.submission import Performed, Submission
from api.records.event_sent import InServiceCheck
from api.records.working import working_of

_NOBODY = "-"  # a check names no technician, and what is not asked of it is left out of its flags


def check_on_file(connection: Connection, arrived: Arrived, sent: InServiceCheck) -> MadeOfIt:
    """Return what is made of a check: verdict and working, or none where its scale is not known; and every flag."""
    device, flags = flags_of_event(connection, arrived, sent.site, sent.device, sent.happened_at)
    held = on_file(connection, as_visit(connection, arrived, sent))
    if device is None or held.case is None:
        missing = [flag for flag in held.flags if flag.code in ("unknown-model", "unknown-house-rule")]
        return MadeOfIt(device.key if device else None, [*flags, *missing])
    judgement = judge_check(held.case, sent.known)
    weights = [
        replace(flag, pointer="#/pieces") for flag in held.flags if (flag.pointer or "").startswith("#/as_found")
    ]
    reasons = [replace(flag, pointer="#") for flag in judgement.flags]
    told: list[Flag] = [*flags, *weights, *reasons]
    judged_with = {"program": PROGRAM, **held.judged_with()}
    working = working_of(replace(judgement, flags=tuple(told)), judged_with)
    return MadeOfIt(device.key, told, judgement.verdict_as_found, working)


def as_visit(connection: Connection, arrived: Arrived, sent: InServiceCheck) -> Submission:
    """Return a check as the one reading of a visit: what is on file of that day is asked for in that form."""
    moment = moment_that_counts(connection, sent.site, sent.happened_at, arrived)
    off_centre = sent.position not in (None, "centre")
    reading = Reading(
        seq=1,
        test="eccentricity" if off_centre else "increasing",
        indication=sent.indication,
        load=sent.known.mass if sent.known else None,
        pieces=(OF_THE_WARD,) if sent.known else sent.pieces or (),
        placed=sent.placed,
        position=sent.position,
        stable=sent.stable,
    )
    return Submission(
        "calibration/1", sent.site, sent.device, Performed(moment, moment), (_NOBODY,), "check", "partly completed",
        as_found=Phase((reading,)),
    )  # fmt: skip
