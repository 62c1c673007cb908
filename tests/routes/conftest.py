"""A service on a record that holds the invented network's register, its clock standing at noon of one day."""

from collections.abc import Iterator

import pytest
from flask.testing import FlaskClient

from api.settings import Settings
from tests.filled_record import NOON, copy_of, door_to


@pytest.fixture(scope="session")
def template(registered: str) -> str:
    """Every record here begins with the network's register."""
    return registered


@pytest.fixture(autouse=True)
def _clock(monkeypatch: pytest.MonkeyPatch) -> None:
    """Calibrations arrive at noon of the day on which the network stands."""
    for module in ("calibrations", "receiving", "life", "events"):
        monkeypatch.setattr(f"api.routes.{module}.now", lambda: NOON)


@pytest.fixture(scope="module")
def kept(registered: str, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Settings]:
    """Give one record for all tests of a file: for those that send under an id of their own, or are refused."""
    with copy_of(registered, tmp_path_factory.mktemp("kept")) as settings:
        yield settings


@pytest.fixture(scope="module")
def door(kept: Settings) -> Iterator[FlaskClient]:
    """Give a client on the record that all tests of a file share."""
    with door_to(kept) as client:
        yield client
