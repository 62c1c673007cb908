"""Requests that a general tool makes from the contract find no server error and nothing undescribed.

Reduced; `measure_conformance.py` does all phases in full.
"""

import pytest
from flask import Flask

from tests.contract.conformance import conformance, served


@pytest.fixture
def template(registered: str) -> str:
    return registered


def test_requests_made_from_the_contract_find_nothing_that_it_does_not_describe(
    app: Flask, caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level("ERROR")
    with served(app) as address:
        found = conformance(address, "examples,fuzzing", examples=1, seed=34, seconds=150)

    assert found.cases >= 60
    assert found.failures == {}, found.said[-6000:]
