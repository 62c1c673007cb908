"""Requests that a general tool makes from the contract find no server error and nothing undescribed, nor a door without
its key.

Reduced; `measure_conformance.py` does all phases in full.
"""

import pytest

from api.settings import Settings
from tests.contract.conformance import conformance, served
from tests.keyed import ALL, a_key, bearing, keyed_app


@pytest.fixture
def template(registered: str) -> str:
    return registered


def test_requests_made_from_the_contract_find_nothing_that_it_does_not_describe(
    settings: Settings, caplog: pytest.LogCaptureFixture, monkeypatch: pytest.MonkeyPatch
) -> None:
    caplog.set_level("ERROR")
    monkeypatch.setattr("api.routes.admission.PER_KEY", ())
    monkeypatch.setattr("api.routes.admission.NOT_ACCEPTED", ())
    with keyed_app(settings) as app, served(app) as address:
        engine = app.extensions["steelyard.engine"]
        keys = bearing(a_key(engine, *ALL), a_key(engine, *ALL, holder="T-01", held_by="person"))
        found = conformance(address, keys, "examples,fuzzing", examples=1, seed=34, seconds=150)

    assert found.cases >= 60
    assert found.failures == {}, found.said[-6000:]
