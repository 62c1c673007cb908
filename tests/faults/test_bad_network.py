"""Whatever a network loses, delays, doubles, cuts or disorders, each visit is on record once and every receipt is right.

Through the published field client, against the service as a process. The full run is `measure_bad_network.py`.
"""

from pathlib import Path

import pytest

from api.settings import Settings
from tests.faults.a_bad_network import FAULTS
from tests.faults.through_a_bad_network import through_a_bad_network

VISITS, SEED = 150, 2026


@pytest.fixture
def template(registered: str) -> str:
    return registered


def test_through_a_bad_network_every_visit_is_on_record_once_with_a_right_receipt(
    settings: Settings, tmp_path: Path
) -> None:
    passed = through_a_bad_network(settings, tmp_path / "apps", VISITS, SEED)

    assert passed.faults == []
    assert passed.receipts == VISITS
    assert set(FAULTS) <= set(passed.befell)
