"""Records that hold the invented network's register, and one with its two years of calibrations in it, for reading."""

from collections.abc import Iterator

import pytest
from sqlalchemy import Connection

from api.database import make_engine, reading
from api.demo.history import visits
from tests.filled_record import NOON, TODAY, copy_of
from tests.record.visits_kept import keep


@pytest.fixture(scope="session")
def template(registered: str) -> str:
    """Every record here begins with the network's register."""
    return registered


@pytest.fixture(autouse=True)
def _clock(monkeypatch: pytest.MonkeyPatch) -> None:
    """Calibrations arrive at noon of the day on which the network stands."""
    for module in ("calibrations", "receiving", "life", "events"):
        monkeypatch.setattr(f"api.routes.{module}.now", lambda: NOON)


@pytest.fixture(scope="session")
def world(registered: str, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Connection]:
    """Give a connection that reads a record with the whole history in it, sent in order of time."""
    with copy_of(registered, tmp_path_factory.mktemp("world")) as settings:
        engine = make_engine(settings.database_url)
        keep(engine, visits(TODAY))
        with reading(engine) as connection:
            yield connection
        engine.dispose()
