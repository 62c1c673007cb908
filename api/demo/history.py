"""The invented history: every visit of the two years before `today`, in order of time, as wire bodies.

The same day and seed give the same visits, byte for byte; another seed gives other displays and the same stories.
"""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, datetime
from itertools import count
from random import Random
from typing import Any, Final
from uuid import UUID

from api.demo.characters import CHARACTERS
from api.demo.days import working_day
from api.demo.devices import STANDINGS, devices, later_changes
from api.demo.entry import wire_of
from api.demo.life import Life
from api.demo.places import G_AT
from api.demo.stories import VISITS
from api.demo.visit_record import Attendance, attempt, calibration
from api.metrology.submission import Installation, Submission
from api.records.device import Device

SEED: Final = 34


def visits(today: date, seed: int = SEED) -> Iterator[tuple[str, dict[str, Any]]]:
    """Return the visits in order of time, each as the text of its identifier and its wire body; none after `today`."""
    done = [submission for standing in STANDINGS for submission in _life_of(standing.tag, today, seed)]
    done.sort(key=lambda submission: (submission.performed.start, submission.device))
    counters = {submission.technicians[0]: count(1) for submission in done}
    for submission in done:
        technician = submission.technicians[0]
        installation = Installation(f"FIELD-{technician}", next(counters[technician]))
        yield identifier(submission, seed), wire_of(replace(submission, installation=installation))


def identifier(submission: Submission, seed: int) -> str:
    """Return the identifier of a visit: a UUID of version 7 (RFC 9562 section 5.7), its chance taken from the seed."""
    luck = Random(f"{seed} {submission.device} {submission.performed.start.isoformat()}")
    return identifier_at(submission.performed.end, luck)


def identifier_at(moment: datetime, luck: Random) -> str:
    """Return an identifier made at a moment, as an app makes it."""
    milliseconds = int(moment.timestamp()) * 1000
    number = milliseconds << 80 | 0x7 << 76 | luck.getrandbits(12) << 64 | 0b10 << 62 | luck.getrandbits(62)
    return str(UUID(int=number))


def _life_of(tag: str, today: date, seed: int) -> Iterator[Submission]:
    """All visits to one scale, the earliest first: what one visit leaves, the next one finds."""
    planned = sorted((v for v in VISITS if v.tag == tag), key=lambda v: -v.days_ago)
    life = _begun(tag, working_day(today, planned[0].days_ago))
    for visit in planned:
        day = working_day(today, visit.days_ago)
        life.meets(visit.special, day)
        luck = Random(f"{seed} {tag} {visit.days_ago}")
        at = Attendance(visit, day, _in_force(tag, day, today), life, luck)
        yield attempt(at) if visit.reasons else calibration(at)


def _begun(tag: str, first_visit: date) -> Life:
    number = next(n for n, standing in enumerate(STANDINGS) if standing.tag == tag)
    g = G_AT[STANDINGS[number].ward.partition("-")[0]]
    character = CHARACTERS[tag]
    return Life(character, character.span_ppm, first_visit, g, number % 4 + 1, number % 5 + 2, 400 + 13 * number)


def _in_force(tag: str, day: date, today: date) -> Device:
    """The scale as the register holds it from a day on."""
    device = next(d for d in devices(today) if d.tag == tag)
    for since, changed in later_changes(today):
        if changed.tag == tag and since <= day:
            device = changed
    return device
