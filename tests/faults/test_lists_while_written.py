"""A list that is read while others write gives each row that was there exactly once. `measure_lists.py` does it in full."""

import random

import pytest
from flask import Flask

from tests.faults.lists_while_written import fill, read_while_written

SEED = 9


@pytest.fixture
def template(registered: str) -> str:
    return registered


@pytest.mark.parametrize("limit", [1, 7, 100])
def test_of_many_visits_of_one_moment_each_comes_once_while_others_are_put_in(app: Flask, limit: int) -> None:
    old = fill(app, 120, random.Random(SEED))

    read = read_while_written(app, old, limit, writers=2, seed=SEED)

    assert set(read.of_old.values()) == {1}
    assert len(read.of_old) == 120
    assert read.put_in > 0
    assert limit > 50 or read.new > 0
