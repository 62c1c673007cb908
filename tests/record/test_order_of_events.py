"""The order in which events and visits arrive changes nothing, and what arrives twice counts once."""

import json
from collections.abc import Callable
from itertools import permutations
from random import Random
from typing import Any

from sqlalchemy import Connection, Engine

from api.actions.report_trouble import report_trouble
from api.answers.device_events import events_of_device
from api.answers.may_i_use import use_of
from api.keeping.content import Arrived
from api.records.documents import document_of
from api.routes.event_examples import REPORT
from schemas.events import report_with_device
from tests.doors import an_id, example
from tests.filled_record import NOON, TODAY
from tests.record.visits_kept import keep_on

DEVICE = "A-04"
SAMPLE = 40
Arriving = Callable[[Connection], object]


def a_report(kind: str, happened_at: str) -> Arriving:
    content = REPORT | {"kind": kind, "happened_at": happened_at}
    arrived = Arrived(an_id(), json.dumps(content).encode(), content, "W-01", NOON)
    return lambda connection: report_trouble(connection, arrived, report_with_device(content), DEVICE)


def a_visit(begun: str, ended: str) -> Arriving:
    visit = an_id(), example() | {"performed": {"start": begun, "end": ended}}
    return lambda connection: keep_on(connection, visit)


def what_arrives() -> list[Arriving]:
    return [
        a_report("dropped", "2026-11-20T09:00:00-07:00"),
        a_visit("2026-11-21T09:00:00-07:00", "2026-11-21T09:40:00-07:00"),
        a_report("moved", "2026-11-21T09:00:00-07:00"),
        a_report("wrong unit", "2026-11-22T09:00:00-07:00"),
        a_visit("2026-11-23T09:00:00-07:00", "2026-11-23T09:40:00-07:00"),
        a_report("reads oddly", "2026-11-24T09:00:00-07:00"),
    ]


def told_after(engine: Engine, arriving: list[Arriving]) -> dict[str, Any]:
    """What is answered after things arrived in an order, without what the order does give: log numbers."""
    with engine.connect().execution_options(writes=True) as connection:
        for arrive in arriving:
            arrive(connection)
        events = document_of(list(events_of_device(connection, DEVICE, on=TODAY)))
        use = document_of(use_of(connection, DEVICE, on=TODAY))
        connection.rollback()
    return {"use": use, "events": [event | {"log_number": 0} for event in events]}


def test_events_and_visits_in_any_order_come_to_the_same(engine: Engine) -> None:
    arriving = what_arrives()
    expected = told_after(engine, arriving)

    orders = Random(2026).sample(list(permutations(arriving)), SAMPLE)

    assert all(told_after(engine, [*order]) == expected for order in orders)
    assert [event["open"] for event in expected["events"]] == [True, False, False, False]
    assert [why["code"] for why in expected["use"]["why"] if why["may"] != "may use"] == ["reads-oddly"]


def test_what_arrives_twice_counts_once(engine: Engine) -> None:
    arriving = what_arrives()

    assert told_after(engine, [*arriving, *reversed(arriving)]) == told_after(engine, arriving)
