"""Whenever the service is killed, nothing that it acknowledged is lost, and nothing is on record twice.

SIGKILL of its worker or of all its processes at random moments, under apps that go on sending. What the operating system
holds survives this; that a write is on the disk before its answer is a matter of `synchronous=FULL`. The full run is
`measure_killed_service.py`.
"""

from pathlib import Path

import pytest

from api.settings import Settings
from tests.faults.under_kills import under_kills

KILLS, SEED = 20, 2026


@pytest.fixture
def template(registered: str) -> str:
    return registered


def test_under_twenty_kills_nothing_acknowledged_is_lost_and_nothing_is_doubled(
    settings: Settings, tmp_path: Path
) -> None:
    survived = under_kills(settings, tmp_path / "apps", KILLS, SEED)

    assert survived.faults == []
    assert survived.acknowledged > KILLS
