"""Gathering from a real record: the demonstration's register and three of its scales, sent through the service's doors."""

from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from click.testing import CliRunner

from api.app import create_app
from api.cli.record import migrate_record
from api.database import make_engine, reading
from api.demo.history import visits
from api.demo.network import register_entries
from api.keeping.job_at_work import JobAtWork
from api.records.job import Job
from api.records.log import LogHead
from api.settings import Settings, settings_from
from site_builder.cli import publish, publish_job
from site_builder.fleet import Fleet
from site_builder.gather import NothingToPublish, gather
from site_builder.page import Touch
from tests.doors import change

TODAY = date(2026, 11, 25)
SENT = ("A-04", "B-02", "E-06")


@pytest.fixture(scope="module")
def settings(tmp_path_factory: pytest.TempPathFactory) -> Settings:
    settings = settings_from({"STEELYARD_FOLDER": str(tmp_path_factory.mktemp("record")), "STEELYARD_DOOR": "open"})
    migrate_record(settings)
    app = create_app(settings)
    door = app.test_client()
    for entry in register_entries(TODAY):
        put = change(door, f"{entry.collection}/{entry.key}", entry.valid_from.isoformat(), entry.record)
        assert put.status_code in (200, 201)
    for calibration, visit in visits(TODAY):
        if visit["device"] in SENT:
            assert door.put(f"/v1/calibrations/{calibration}", json=visit).status_code == 201
    app.extensions["steelyard.engine"].dispose()
    return settings


def gathered(settings: Settings) -> Fleet:
    engine = make_engine(settings.database_url)
    with reading(engine) as connection:
        fleet = gather(connection, TODAY)
    engine.dispose()
    return fleet


def test_every_device_on_the_register_is_gathered_with_its_history(settings: Settings) -> None:
    fleet = gathered(settings)
    registered = {entry.key for entry in register_entries(TODAY) if entry.collection == "devices"}
    sent = [visit["device"] for _, visit in visits(TODAY)]

    assert {scale.tag for scale in fleet.scales} == registered
    assert {s.tag: len(s.history) for s in fleet.scales if s.history} == {tag: sent.count(tag) for tag in SENT}


def test_the_fleet_stands_at_the_head_of_the_log(settings: Settings) -> None:
    fleet = gathered(settings)

    assert fleet.as_of == "2026-11-25"
    assert fleet.log.number == max(item["log_number"] for scale in fleet.scales for item in scale.history)


def test_a_scale_is_touched_by_its_own_visits_and_not_by_its_neighbours(settings: Settings) -> None:
    fleet = gathered(settings)
    untouched = [scale.touch for scale in fleet.scales if scale.tag not in SENT]
    visited = min(item["log_number"] for scale in fleet.scales for item in scale.history)

    assert all(touch.number < visited for touch in untouched)
    for scale in fleet.scales:
        if scale.history:
            assert scale.touch.number == max(item["log_number"] for item in scale.history)
    assert all(isinstance(touch, Touch) for touch in fleet.place_touches.values())


def test_every_certificate_is_gathered_as_its_stored_bytes_say(settings: Settings) -> None:
    fleet = gathered(settings)
    named = {item["certificate"] for scale in fleet.scales for item in scale.history if item.get("certificate")}

    assert {stored["document"]["number"] for stored in fleet.certificates} == named
    assert all(stored["digest"].startswith("sha256:") for stored in fleet.certificates)
    for stored in fleet.certificates:
        item = next(i for s in fleet.scales for i in s.history if i.get("certificate") == stored["document"]["number"])
        assert stored["document"]["judgement"]["as_found"] == item["working"]["as_found"]


def test_the_command_publishes_the_record_and_says_so(settings: Settings, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("STEELYARD_FOLDER", str(settings.folder))

    said = CliRunner().invoke(publish, ["--as-of", "2026-11-25"])

    assert said.exit_code == 0, said.output
    assert "as of 2026-11-25" in said.output
    assert (settings.site_folder / "d" / "a-04" / "index.html").is_file()


def publish_asked(settings: Settings) -> JobAtWork:
    asked = Job("1", "publish", "taken", datetime.now(UTC), "T-01", {"as_of": "2026-11-25"}, 1)
    return JobAtWork(make_engine(settings.database_url), asked, "a worker")


def test_the_job_publishes_the_same_site_as_the_command(settings: Settings, tmp_path: Path) -> None:
    said = publish_job(settings, publish_asked(settings))
    by_job = (settings.site_folder / "build.json").read_bytes()

    CliRunner(env={"STEELYARD_FOLDER": str(settings.folder)}).invoke(
        publish, ["--as-of", "2026-11-25", "--into", str(tmp_path / "site"), "--quiet"]
    )

    assert said.startswith("Published ")
    assert (tmp_path / "site" / "build.json").read_bytes() == by_job


def test_a_record_with_no_scale_yet_is_published(tmp_path: Path) -> None:
    empty = settings_from({"STEELYARD_FOLDER": str(tmp_path)})
    migrate_record(empty)

    said = publish_job(empty, publish_asked(empty))

    assert said.startswith("Published ")
    assert "0 of 0 scales in service" in (empty.site_folder / "index.html").read_text(encoding="utf-8")


def test_a_log_without_an_entry_is_refused_with_a_sentence(settings: Settings, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("site_builder.gather.head", lambda _: LogHead(0, "", None))

    with pytest.raises(NothingToPublish, match="nothing to publish yet"):
        gathered(settings)


def test_a_folder_in_use_is_refused_in_one_line(settings: Settings, tmp_path: Path) -> None:
    (tmp_path / "mine.txt").write_text("mine", encoding="utf-8")

    said = CliRunner(env={"STEELYARD_FOLDER": str(settings.folder)}).invoke(
        publish, ["--into", str(tmp_path), "--as-of", "2026-11-25", "--quiet"]
    )

    assert said.exit_code == 1
    assert "holds something that is not a published site" in said.output
    assert "Traceback" not in said.output
