"""The history of one scale arriving in any order, some of it twice: visits, changes of the register, files, an amendment.

What cannot be taken yet is sent again later, as an app does: an amendment before the visit that it amends.
"""

import json
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta
from random import Random
from typing import Any

from sqlalchemy import Connection, Engine

from api.actions.amend_calibration import amend_calibration
from api.actions.change_register import change_register
from api.actions.keep_attachment import ArrivedAttachment, keep_attachment
from api.actions.record_calibration import record_calibration
from api.answers.due import due_of
from api.answers.may_i_use import use_of
from api.answers.weighing import weighing_of
from api.database import reading
from api.demo.history import visits
from api.keeping.content import Arrived
from api.keeping.register_change import RegisterChange
from api.ledger.digests import digest_of
from api.metrology.mass import mass
from api.metrology.submission import Submission
from api.queries.calibrations import history_of
from api.queries.register import in_force
from api.records.calibration import Calibration
from api.records.device import LimitOfUse
from api.records.documents import document_of
from api.records.life import AmendmentAsked
from api.records.problems import NotOnRecord
from schemas.submission import submission_from
from tests.doors import an_id, example, reading_of
from tests.filled_record import NOON, TODAY

DEVICE, SITE = "A-04", "QG"
SHEET, PHOTOGRAPH = b"load;shown\n50 kg;50.0 kg\n", b"%PDF-1.7\nthe label"
Arrival = Callable[[Connection], object]


@dataclass(frozen=True)
class Sent:
    """A visit as it is sent: its id, its bytes, and how far the app's clock is behind."""

    id: str
    body: bytes
    behind: timedelta = timedelta(0)

    def arrive(self, connection: Connection) -> object:
        """Arrive now."""
        return record_calibration(connection, self.arrived(), self.read())

    def arrived(self) -> Arrived:
        """The arrival, at noon of the day on which the network stands."""
        return Arrived(self.id, self.body, json.loads(self.body), "T-01", NOON, NOON - self.behind)

    def read(self) -> Submission:
        """What was sent, in values."""
        return submission_from(self.body)


def what_arrives(engine: Engine) -> list[Arrival]:
    """Return everything that is to arrive of the scale, in order of time."""
    done = [(one, body) for one, body in visits(TODAY) if body["device"] == DEVICE]
    naming = example() | {"attachments": [{"digest": digest_of(PHOTOGRAPH), "what": "the label"}]}
    naming["taken_down"] = {"compared_by": "T-02", "from_sheet": digest_of(SHEET)}
    failed = example() | {"performed": {"start": "2026-11-20T10:00:00-07:00", "end": "2026-11-20T10:40:00-07:00"}}
    reading_of(failed, "increasing", load="150")["indication"]["value"] = "150.9"
    done += [(an_id(), naming), (an_id(), failed)]
    sent = [Sent(one, json.dumps(body).encode()) for one, body in done]
    skewed = [replace(sent[0], behind=timedelta(days=400)), replace(sent[1], behind=timedelta(days=-400)), *sent[2:]]
    return [
        *(one.arrive for one in skewed), amendment_of(skewed[-1]), *changes(engine),
        an_attachment(SHEET, "text/csv"), an_attachment(PHOTOGRAPH, "application/pdf"),
    ]  # fmt: skip


def amendment_of(failed: Sent) -> Arrival:
    """An amendment of a visit: a word more."""
    body = json.dumps(json.loads(failed.body) | {"remarks": "The castors were locked."}).encode()
    mended = replace(failed, body=body)
    asked = AmendmentAsked(digest_of(failed.body), "A remark was left out.", mended.read())
    return lambda connection: amend_calibration(connection, mended.arrived(), SITE, asked)


def changes(engine: Engine) -> Iterator[Arrival]:
    """Two changes of the device's entry: of its place from a day between the visits, and a limit from the last day on."""
    with reading(engine) as connection:
        device = in_force(connection, "device", DEVICE, on=TODAY).record
    limit = LimitOfUse(mass("180", "kg"), "The frame was bent.", "S-01")
    for day, record in (
        (date(2025, 7, 1), replace(device, place="bay 7")), (TODAY, replace(device, place="bay 9", limit=limit))
    ):  # fmt: skip
        change = RegisterChange("device", DEVICE, day, record, "S-01", NOON)
        yield lambda connection, change=change: change_register(connection, change)


def an_attachment(content: bytes, media_type: str) -> Arrival:
    """A file that a visit names."""
    sent = ArrivedAttachment(digest_of(content), SITE, media_type, content, "T-01", NOON)
    return lambda connection: keep_attachment(connection, sent)


def told(connection: Connection) -> dict[str, Any]:
    """What is answered about the scale, without what order does give: numbers of log, certificates and revisions."""
    found = {
        "history": [alike(visit) for visit in history_of(connection, DEVICE)],
        "use": use_of(connection, DEVICE, on=TODAY), "due": due_of(connection, DEVICE, on=TODAY),
        "as_left": weighing_of(connection, DEVICE, on=TODAY),
    }  # fmt: skip
    answered: dict[str, Any] = document_of(found)
    answered["as_left"]["visit"].pop("certificate", None)
    return answered


def alike(visit: Calibration) -> Calibration:
    """A visit without the numbers that it got by its turn."""
    device = {name: value for name, value in visit.working["device"].items() if name != "revision"}
    return replace(
        visit, log_number=0, certificate=visit.certificate and "a number", working=visit.working | {"device": device}
    )


def told_after(engine: Engine, arriving: list[Arrival]) -> dict[str, Any]:
    """What is answered after everything arrived in an order; nothing of it is kept."""
    with engine.connect().execution_options(writes=True) as connection:
        waiting = list(arriving)
        while waiting:
            one = waiting.pop(0)
            try:
                one(connection)
            except NotOnRecord:
                waiting.append(one)
        found = told(connection)
        connection.rollback()
    return found


def differing(engine: Engine, orders: int, seed: int) -> int:
    """Return how many orders of arrival, a third of it arriving twice, come to another answer than the order of time."""
    arriving, dice = what_arrives(engine), Random(seed)
    expected = told_after(engine, arriving)
    different = 0
    for _ in range(orders):
        again = dice.sample(arriving, len(arriving) // 3)
        order = dice.sample([*arriving, *again], len(arriving) + len(again))
        different += told_after(engine, order) != expected
    return different
