"""Whatever arrives first, and whatever arrives twice: the same history, use, due date, and state as left.

The full run is `measure_any_order.py`.
"""

import pytest
from sqlalchemy import Engine

from tests.faults.any_order import differing, told_after, what_arrives

ORDERS, SEED = 30, 2026


@pytest.fixture
def template(registered: str) -> str:
    return registered


def test_a_scales_history_in_any_order_comes_to_the_same_answers(engine: Engine) -> None:
    assert differing(engine, ORDERS, SEED) == 0


def test_the_answers_speak_of_everything_that_arrived(engine: Engine) -> None:
    """Or the test above would compare nothing."""
    found = told_after(engine, what_arrives(engine))

    assert [visit["revision"] for visit in found["history"]].count(2) == 1
    assert [len(visit["attachments"]) for visit in found["history"]].count(2) == 1
    assert not [note for visit in found["history"] for note in visit["notes"] if note["code"] == "attachment-missing"]
    assert {"clock-off"} <= {flag["code"] for visit in found["history"] for flag in visit["flags"]}
    assert "limit" in str(found["use"]["why"])
