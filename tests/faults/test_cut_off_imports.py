"""An import that is cut off anywhere goes on where it was, and comes to what an undisturbed one comes to."""

import json
import random
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Engine, event, select

from api.actions.commit_import import commit_import
from api.cli import import_work
from api.database import make_engine, reading, unit_of_work
from api.ledger.digests import digest_of
from api.models.everything import TABLES
from api.models.log import LOG_ENTRY
from api.queries.imports import unended
from api.settings import Settings
from tests.filled_record import NOON, copy_of
from tests.imports.importing import A_PROFILE, committed, profile_from, tried

PROFILE = profile_from(A_PROFILE)
ROWS = 23
SEED = 44
# What an import comes to, without the moments and salts of its making.
COMPARED = {
    "content": ("calibration", "device_as_sent", "performed_on"),
    "imported": ("calibration", "line", "lacks"),
    "standing_event": ("calibration", "place", "standing"),
    "judged_point": ("calibration", "phase", "seq", "verdict"),
}


def a_file(rows: int = ROWS) -> bytes:
    """Visits of some scales, two of them with the same text."""
    listed = [f"A-0{1 + n % 9};2024-03-{1 + n // 3 % 28:02};{100 + n / 10:.1f};;row {n}" for n in range(rows)]
    return "\n".join(["Tag;Day;Found;Left;Note", *listed, listed[0], ""]).encode()


def comes_to(engine: Engine) -> dict[str, Any]:
    """What is on record, in an order of its own."""
    found: dict[str, Any] = {}
    with reading(engine) as connection:
        for table, columns in COMPARED.items():
            chosen = [TABLES[table].c[name] for name in columns]
            found[table] = sorted(tuple(row) for row in connection.execute(select(*chosen)))
        kinds = connection.scalars(select(LOG_ENTRY.c.kind).order_by(LOG_ENTRY.c.number)).all()
    return found | {"log": [kind for kind in kinds if "import" in kind and "profile" not in kind]}


class CutOff(Exception):
    """The power went."""


@contextmanager
def cut_off_at(engine: Engine, statement: int) -> Iterator[None]:
    """Have the n-th statement from here on fail as if the power went."""
    seen = [0]

    def count(*_: Any) -> None:
        seen[0] += 1
        if seen[0] == statement:
            raise CutOff

    event.listen(engine, "before_cursor_execute", count)
    try:
        yield
    finally:
        event.remove(engine, "before_cursor_execute", count)


def statements_of(engine: Engine, name: str) -> int:
    """How many statements the keeping takes that is still to be done."""
    seen = [0]

    def count(*_: Any) -> None:
        seen[0] += 1

    event.listen(engine, "before_cursor_execute", count)
    work(engine, name)
    event.remove(engine, "before_cursor_execute", count)
    return seen[0]


def work(engine: Engine, name: str) -> None:
    import_work.work_on_import(import_work.HereAndNow(engine, lambda _: None), name)


def begun(engine: Engine) -> str:
    """An import that a person has committed, of which nothing is kept yet."""
    told = tried(engine, a_file(), PROFILE)
    unit_of_work(engine, lambda c: commit_import(c, told.file_import, told.etag, "T-01", NOON, None))
    return told.file_import


@pytest.fixture(scope="module")
def undisturbed(registered: str, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """Give what an undisturbed import comes to."""
    with copy_of(registered, tmp_path_factory.mktemp("undisturbed")) as settings:
        engine = make_engine(settings.database_url)
        committed(engine, tried(engine, a_file(), PROFILE))
        found = comes_to(engine)
        engine.dispose()
    return found


def test_an_import_cut_off_at_any_statement_goes_on_and_comes_to_the_same(
    registered: str, undisturbed: dict[str, Any], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(import_work, "CHUNK", 5)
    with copy_of(registered, tmp_path / "counted") as settings:
        engine = make_engine(settings.database_url)
        total = statements_of(engine, begun(engine))
        engine.dispose()
    assert len(undisturbed["content"]) == ROWS + 1

    for number, statement in enumerate(range(1, total + 1, max(1, total // 25))):
        with copy_of(registered, tmp_path / str(number)) as settings:
            engine = make_engine(settings.database_url)
            name = begun(engine)
            with cut_off_at(engine, statement), pytest.raises(CutOff):
                work(engine, name)
            work(engine, name)
            assert comes_to(engine) == undisturbed, statement
            engine.dispose()


def test_a_command_that_is_killed_goes_on_when_it_is_asked_again(registered: str, tmp_path: Path) -> None:
    with copy_of(registered, tmp_path / "record") as settings:
        killed_and_asked_again(settings, tmp_path)


def killed_and_asked_again(settings: Settings, tmp_path: Path) -> None:
    file, profile = tmp_path / "old.csv", tmp_path / "profile.json"
    file.write_bytes(a_file(1500))
    profile.write_text(json.dumps(A_PROFILE))
    asked = [sys.executable, "-m", "api.cli", "import", str(file), "--profile", str(profile), "--commit"]
    environment = settings.as_environment()
    dice, kills = random.Random(SEED), 0

    while True:
        with subprocess.Popen(asked, env=environment, stdout=subprocess.DEVNULL) as running:
            if kills < 4:
                time.sleep(dice.uniform(1, 4))
                running.send_signal(signal.SIGKILL)
                kills += 1
            if running.wait() == 0:
                break

    engine = make_engine(settings.database_url)
    found = comes_to(engine)
    assert len(found["content"]) == len(found["standing_event"]) == 1501
    assert found["log"].count("calibration imported") == 1501
    assert found["log"].count("import done") >= 1
    with reading(engine) as connection:
        assert unended(connection, digest_of(file.read_bytes()), PROFILE, "all") is None
    engine.dispose()
