"""Of fifty who send under one id at the same moment one makes the record; the others are told so, or that theirs differs.

The full run is `measure_one_id_at_once.py`.
"""

import pytest
from flask import Flask

from tests.faults.one_id_at_once import THREADS, one_id_at_once

IDS = 4


@pytest.fixture
def template(registered: str) -> str:
    return registered


def test_of_fifty_under_one_id_one_makes_the_record_and_the_others_are_told(app: Flask) -> None:
    half = THREADS // 2

    found = one_id_at_once(app, IDS)

    assert found.faults == []
    assert found.answers == {201: IDS, 200: IDS // 2 * (THREADS - 1 + half - 1), 409: IDS // 2 * half}
