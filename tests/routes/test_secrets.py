"""A key's secret is in one answer only: in no log line, no problem, no row, no page, no contract, whatever goes wrong.

The canaries are a working key, a person's, and one that is not known. The database's own log of statements is read too.
"""

import logging
from collections.abc import Iterator
from importlib.metadata import entry_points
from pathlib import Path

import pytest
from flask import Flask
from sqlalchemy import Engine, select
from werkzeug.test import TestResponse

from api.database import reading
from api.keeping.job_at_work import JobAtWork
from api.ledger.key_text import OF_INSTALLATION, new_key_text
from api.models.everything import TABLES
from api.records.job import Job
from api.settings import Settings
from tests.doors import JSON, an_id, example, example_bytes
from tests.filled_record import NOON
from tests.keyed import ALL, a_key, bearing, keyed_app


@pytest.fixture
def keyed(settings: Settings) -> Iterator[Flask]:
    with keyed_app(settings) as app:
        yield app


@pytest.fixture
def canaries(engine: Engine) -> list[str]:
    person = a_key(engine, *ALL, holder="T-01", held_by="person")
    return [a_key(engine, *ALL), person, new_key_text(OF_INSTALLATION).text]


def secret_of(key: str) -> str:
    return key.split("_")[3]


def answers(app: Flask, canaries: list[str], monkeypatch: pytest.MonkeyPatch) -> list[TestResponse]:
    """What goes well and what goes wrong, with keys in fields, in bodies and in addresses."""
    client = app.test_client()
    unit, person, unknown = canaries
    good, wrong = bearing(unit, person), bearing(unknown)
    put = f"/v1/calibrations/{an_id()}"
    found = [
        client.put(put, data=example_bytes(), headers=JSON | good),
        client.put(put, data=b"{", headers=JSON | good),
        client.put(put, json={"device": 1}, headers=good),
        client.put(put, data=example_bytes(), headers=JSON | wrong),
        client.put(put, data=example_bytes(), headers=JSON | bearing(unit, unknown)),
        client.put(put, data=example_bytes(), headers=JSON | {"Authorization": f"Basic {unit}"}),
        client.put(put, data=example_bytes(), headers=JSON | {"Authorization": f"Bearer {unit}x"}),
        client.put(f"{put}?key={unit}", data=example_bytes(), headers=JSON | good),
        client.get(f"/v1/devices/{unit}", headers=good),
        client.get("/v1/keys", headers=good),
        client.get("/v1/changes?limit=1000", headers=good),
        client.get("/v1/openapi.json", headers=good),
        client.post("/v1/keys", json={"held_by": unit}, headers=good),
    ]
    with monkeypatch.context() as broken:
        broken.setattr("api.routes.receiving.record_calibration", lambda *_, **__: 1 / 0)
        found.append(client.put(put, json=example() | {"purpose": "audit"}, headers=good))
    found += [client.get("/v1/about", headers=wrong) for _ in range(25)]
    assert {answer.status_code for answer in found} == {200, 201, 400, 401, 422, 429, 500}
    return found


def test_a_secret_is_in_no_answer_no_log_line_no_row_and_no_page(
    keyed: Flask, settings: Settings, engine: Engine, canaries: list[str], monkeypatch: pytest.MonkeyPatch,
    caplog: pytest.LogCaptureFixture, capfd: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    for name in ("", "sqlalchemy.engine", "sqlalchemy.pool"):
        caplog.set_level(logging.DEBUG, name)

    told = [answer.get_data(as_text=True) + str(answer.headers) for answer in answers(keyed, canaries, monkeypatch)]
    (point,) = entry_points(group="steelyard.jobs", name="publish")
    asked = Job("demo", "publish", "taken", NOON, "demo", {}, 1)
    point.load()(settings, JobAtWork(engine, asked, "a worker"))

    with reading(engine) as connection:
        rows = [str(row) for table in TABLES.values() for row in connection.execute(select(table))]
    pages = [path.read_text("utf-8", "replace") for path in settings.site_folder.rglob("*") if path.is_file()]
    files = [path.read_bytes().decode("latin-1") for path in Path(settings.folder).glob("record.db*")]
    assert "SELECT" in caplog.text
    assert "ZeroDivisionError" in caplog.text
    assert len(pages) > 50
    for place in (told, [caplog.text, *capfd.readouterr()], rows, pages, files):
        for secret in map(secret_of, canaries):
            assert [text[:200] for text in place if secret in text] == []


def test_a_key_that_stands_in_a_body_by_mistake_is_not_repeated(keyed: Flask, canaries: list[str]) -> None:
    answer = keyed.test_client().put(
        f"/v1/calibrations/{an_id()}", json=example() | {"purpose": canaries[0]}, headers=bearing(canaries[0])
    )

    assert answer.status_code == 422
    assert secret_of(canaries[0]) not in answer.get_data(as_text=True)
