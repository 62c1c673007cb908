"""Exports over the web: asked for, made by a worker that may be killed, fetched whole, in ranges, or file by file."""

import hashlib
import io
import zipfile
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from flask.testing import FlaskClient
from sqlalchemy import Engine

from api.actions.begin_export import KEPT_FOR
from api.cli.export import export_job
from api.cli.jobs import take_one
from api.exchange import export_segments
from api.settings import Settings
from tests.doors import an_id, example, send
from tests.exports.exporting import Archive, exported
from tests.filled_record import NOON, rows
from tests.keyed import a_key, bearing, client_with, keyed_app
from tests.routes.exports_asked import ALL, AtWork, made, make


def engine_of(client: FlaskClient) -> Engine:
    found: Engine = client.application.extensions["steelyard.engine"]
    return found


def test_an_export_is_asked_for_at_once_and_made_by_a_job(client: FlaskClient, settings: Settings) -> None:
    send(client, example())
    posted = client.post("/v1/exports", json=ALL)
    address = posted.headers["Location"]

    taken = take_one(engine_of(client), settings)

    found = client.get(address).json
    assert (posted.status_code, posted.json["state"], posted.headers["Retry-After"]) == (202, "waiting", "2")
    assert taken is not None
    assert (taken.kind, taken.job) == ("export", posted.json["job"])
    assert (found["state"], found["because"].split()[0]) == ("done", "Exported")
    assert found["done"] == len(found["files"]) > 30


def test_the_worker_finds_the_handler_of_exports_by_its_kind() -> None:
    from importlib.metadata import entry_points

    (point,) = entry_points(group="steelyard.jobs", name="export")

    assert point.load() is export_job


def test_the_archive_of_a_job_is_the_one_that_the_command_writes(client: FlaskClient) -> None:
    send(client, example())

    fetched = client.get(f"{made(client)}/archive.zip")

    assert fetched.get_data() == exported(engine_of(client))


def test_an_archive_is_fetched_with_its_size_and_digest(client: FlaskClient) -> None:
    address = made(client)

    told, fetched = client.get(address).json, client.get(f"{address}/archive.zip")

    content = fetched.get_data()
    digest = hashlib.sha256(content).hexdigest()
    assert fetched.mimetype == "application/zip"
    assert int(fetched.headers["Content-Length"]) == len(content) == told["size"]
    assert fetched.headers["Steelyard-Digest"] == told["digest"] == f"sha256:{digest}"
    assert fetched.headers["ETag"] == f'"{digest}"'
    assert fetched.headers["Accept-Ranges"] == "bytes"
    assert Archive(content).manifest["log_number"] == told["log_number"]


@pytest.mark.parametrize(
    "path", ["archive.zip", "files/record/content-0001.ndjson", "files/csv/semicolon/readings.csv"]
)
def test_what_was_cut_off_is_fetched_on_from_where_it_was(client: FlaskClient, path: str) -> None:
    send(client, example())
    address = f"{made(client)}/{path}"
    whole = client.get(address)

    middle = len(whole.get_data()) // 2
    rest = client.get(address, headers={"Range": f"bytes={middle}-", "If-Range": whole.headers["ETag"]})

    assert rest.status_code == 206
    assert rest.headers["Content-Range"] == f"bytes {middle}-{len(whole.get_data()) - 1}/{len(whole.get_data())}"
    assert whole.get_data()[:middle] + rest.get_data() == whole.get_data()


def test_beyond_the_end_there_is_nothing(client: FlaskClient) -> None:
    answer = client.get(f"{made(client)}/archive.zip", headers={"Range": "bytes=999999999-"})

    assert (answer.status_code, answer.json["code"]) == (416, "beyond-the-end")


def test_each_file_is_the_one_in_the_archive(client: FlaskClient) -> None:
    send(client, example())
    address = made(client)
    archive = zipfile.ZipFile(io.BytesIO(client.get(f"{address}/archive.zip").get_data()))

    for file in client.get(address).json["files"]:
        fetched = client.get(f"{address}/files/{file['path']}")
        assert fetched.get_data() == archive.read(file["path"])
        assert fetched.headers["Steelyard-Digest"] == file["digest"]


def test_what_is_not_made_yet_cannot_be_fetched(client: FlaskClient) -> None:
    address = client.post("/v1/exports", json=ALL).headers["Location"]

    answers = [client.get(f"{address}/{what}") for what in ("archive.zip", "files/manifest.json")]

    assert [(a.status_code, a.json["code"]) for a in answers] == [(409, "export-not-ready")] * 2


class Killed(Exception):
    """The worker was killed."""


def test_a_worker_that_is_killed_at_any_segment_loses_no_other(
    client: FlaskClient, settings: Settings, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(export_segments, "FILLED", 3000)
    for module in ("calibrations", "receiving"):  # each write at its own moment
        monkeypatch.setattr(f"api.routes.{module}.now", lambda: datetime.now(UTC))
    send(client, example())
    send(client, example("calibration-fail-adjusted"))
    undisturbed = client.get(f"{made(client)}/archive.zip").get_data()
    name = client.post("/v1/exports", json=ALL).json["file_export"]
    engine, progress, kills = engine_of(client), {}, 0

    class KilledAtWork(AtWork):
        def chunk(self, work: Any) -> None:
            super().chunk(work)
            raise Killed

    while kills < 1000:
        at_work: Any = KilledAtWork(engine, progress)
        try:
            make_on(at_work, name)
        except Killed:
            progress, kills = at_work.progress, kills + 1
            send(client, example())  # and others write meanwhile
        if client.get(f"/v1/exports/{name}").json.get("digest"):
            break

    assert kills > 60
    assert client.get(f"/v1/exports/{name}/archive.zip").get_data() == undisturbed


def make_on(at_work: Any, name: str) -> None:
    from api.cli.export_work import work_on_export

    work_on_export(at_work, name)


def test_a_key_for_a_site_gets_an_export_of_that_site_and_no_other(settings: Settings) -> None:
    with keyed_app(settings) as app:
        engine = app.extensions["steelyard.engine"]
        hm = client_with(app, a_key(engine, "administer", sites=("HM",), holder="HM"))
        qg = client_with(app, a_key(engine, "administer", sites=("QG",), holder="QG"))
        everywhere = client_with(app, a_key(engine, "administer", holder="ALL"))
        address = hm.post("/v1/exports", json=ALL).headers["Location"]
        make(engine, address.rpartition("/")[2])

        other = hm.post("/v1/exports", json=ALL | {"sites": ["HM", "QG"]})

        assert (other.status_code, other.json["code"]) == (403, "site-not-in-key")
        assert hm.get(address).json["sites"] == ["HM"]
        assert [client.get(address).status_code for client in (hm, qg, everywhere)] == [200, 404, 200]
        assert qg.get("/v1/exports").json["items"] == []
        archive = Archive(hm.get(f"{address}/archive.zip").get_data())
        assert {line["site"] for line in archive.lines("register/ward_revision.ndjson")} == {"HM"}


def test_who_may_only_read_gets_no_export(settings: Settings) -> None:
    with keyed_app(settings) as app:
        reader = bearing(a_key(app.extensions["steelyard.engine"], "read", "submit"))

        answer = app.test_client().post("/v1/exports", json=ALL, headers=reader)

    assert (answer.status_code, answer.json["code"]) == (403, "scope-missing")


def test_an_export_is_thrown_away_when_its_time_is_over(
    client: FlaskClient, settings: Settings, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("api.routes.exports.now", lambda: NOON)
    address = made(client)
    before = rows(settings)["export_piece"]
    monkeypatch.setattr("api.routes.exports.now", lambda: NOON + KEPT_FOR + timedelta(seconds=1))

    client.post("/v1/exports", json=ALL)

    assert before > 30
    assert rows(settings)["export_piece"] == 0
    assert client.get(address).status_code == 404


def test_asking_for_an_export_writes_nothing_in_the_log(client: FlaskClient, settings: Settings) -> None:
    before = rows(settings)["log_entry"]

    made(client)

    assert rows(settings)["log_entry"] == before


@pytest.mark.parametrize("wrong", [{}, ALL | {"sites": []}, {"since": -1}, ALL | {"colour": "blue"}, []])
def test_a_question_of_the_wrong_shape_is_refused(client: FlaskClient, wrong: Any) -> None:
    assert client.post("/v1/exports", json=wrong).status_code == 422


def test_what_is_not_there_is_not_found(client: FlaskClient) -> None:
    address = made(client)

    for path in (f"/v1/exports/{an_id()}", f"{address}/files/etc/passwd.json", f"{address}/files/../manifest.json"):
        assert client.get(path).status_code == 404
