"""The order in which visits arrive changes nothing: the same history, the same use, the same due date."""

from dataclasses import replace
from itertools import permutations
from random import Random
from typing import Any

import pytest
from sqlalchemy import Connection, Engine

from api.answers.due import due_of
from api.answers.may_i_use import use_of
from api.demo.history import visits
from api.queries.calibrations import history_of
from api.records.documents import document_of
from tests.doors import an_id, example, later, reading_of
from tests.filled_record import TODAY
from tests.record.visits_kept import Visit, keep_on

DEVICE = "A-04"
SAMPLE = 24


def six_visits() -> list[Visit]:
    """Every visit of one scale, among them a flagged failure and one at the very moment of another."""
    found = [(name, body) for name, body in visits(TODAY) if body["device"] == DEVICE]
    flagged = example() | {"device_revision": 7}
    reading_of(flagged, "increasing", load="150")["indication"]["value"] = "150.9"
    found += [(an_id(), flagged), (an_id(), example())]
    return found[-6:]


def told(connection: Connection) -> dict[str, Any]:
    """What is answered about the scale, without what the order of arrival does give: log and certificate numbers."""
    history = history_of(connection, DEVICE)
    alike = [replace(visit, log_number=0, certificate=visit.certificate and "a number") for visit in history]
    answers = (use_of(connection, DEVICE, on=TODAY), due_of(connection, DEVICE, on=TODAY))
    told: dict[str, Any] = document_of({"history": alike, "use": answers[0], "due": answers[1]})
    return told


def told_after(engine: Engine, arriving: list[Visit]) -> dict[str, Any]:
    """What is answered after visits arrived in an order; nothing of it is kept."""
    with engine.connect().execution_options(writes=True) as connection:
        for visit in arriving:
            keep_on(connection, visit)
        found = told(connection)
        connection.rollback()
    return found


def test_six_visits_in_any_order_make_the_same_history_use_and_due_date(engine: Engine) -> None:
    sent = six_visits()
    assert len(sent) == 6
    orders = Random(2026).sample(list(permutations(sent)), SAMPLE)
    expected = told_after(engine, sent)

    assert all(told_after(engine, [*order]) == expected for order in orders)
    assert [visit["performed_on"] for visit in expected["history"]] == sorted(
        (body["performed"]["start"][:10] for _, body in sent), reverse=True
    )


def test_what_arrives_twice_counts_once(engine: Engine) -> None:
    sent = six_visits()

    assert told_after(engine, [*sent, *reversed(sent)]) == told_after(engine, sent)


def test_an_old_visit_that_arrives_late_changes_neither_use_nor_due_date(engine: Engine) -> None:
    *older, newest = [(name, body) for name, body in six_visits() if "device_revision" not in body]

    after = told_after(engine, [newest, *older])

    assert after["history"][0]["calibration"] == newest[0]
    assert after["due"]["last_calibrated"] == newest[1]["performed"]["start"][:10]


@pytest.mark.parametrize("first", ["fail", "pass"])
def test_a_provisional_failure_counts_until_a_later_release_whatever_came_first(engine: Engine, first: str) -> None:
    failed, passed = example() | {"device_revision": 7}, example() | {"device_revision": 7}
    reading_of(failed, "increasing", load="150")["indication"]["value"] = "150.9"
    failed["performed"] = {"start": "2026-11-20T10:00:00-07:00", "end": "2026-11-20T10:40:00-07:00"}
    both = [(an_id(), failed), (an_id(), passed)]
    released = (an_id(), later(example(), 1))

    arriving = both if first == "fail" else [*reversed(both)]

    assert told_after(engine, arriving)["use"]["may"] == "do not use"
    assert told_after(engine, [*arriving, released])["use"]["may"] != "do not use"
    assert told_after(engine, [released, *arriving])["use"]["may"] != "do not use"
