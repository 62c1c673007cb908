"""An export holds everything that is kept, byte for byte, says what it leaves out, and is the same for the same log entry."""

import hashlib
import json
from datetime import UTC, datetime
from typing import Any

import pytest
from sqlalchemy import Engine, func, select

from api.cli import export_sources
from api.cli.export_begun import up_to_now
from api.database import reading
from api.exchange import export_segments
from api.ledger.chain import first_break
from api.ledger.digests import digest_of, salted_digest
from api.ledger.key_text import digest_of_key
from api.models.everything import TABLES
from api.queries import dossiers, exported_rows
from api.queries.certificates import every_certificate
from api.queries.exported_tables import EXPORTED, LEFT_OUT
from api.queries.log import head
from api.records.export import ExportAsked
from api.settings import Settings
from tests.doors import an_id, example, send
from tests.exports.conftest import SECRET
from tests.exports.exporting import Archive, exported
from tests.filled_record import door_to, kept_tables


def test_every_table_is_exported_or_left_out_with_a_reason() -> None:
    taken = [exported_table.table.name for exported_table in EXPORTED]

    assert sorted([*taken, *LEFT_OUT]) == sorted(TABLES)
    assert all(len(reason) > 10 for reason in LEFT_OUT.values())
    assert {table for table in kept_tables() if table not in taken} == {
        "attachment_named", "certified_piece", "judged_point", "log_touch", "reading_piece", "weight_event_piece",
    }  # fmt: skip


@pytest.mark.parametrize("one", EXPORTED, ids=lambda one: one.table.name)
def test_every_row_of_a_table_is_in_it(full_engine: Engine, archive: Archive, one: Any) -> None:
    paths = [file["path"] for file in archive.manifest["files"]]
    stem, _, ending = one.path.rpartition(".")
    of_it = [path for path in paths if path == one.path or (path.startswith(f"{stem}-") and path.endswith(ending))]

    found = sum(len(archive.lines(path)) for path in of_it)

    with reading(full_engine) as connection:
        assert found == connection.scalar(select(func.count()).select_from(one.table))
    assert of_it


def test_every_row_is_tied_to_the_log_by_its_moment(full_engine: Engine, archive: Archive) -> None:
    """What follows from the log's numbers rests on this: whoever adds a table says which column holds that moment."""
    moments = {line["moment"] for line in archive.lines("record/log_entry-0001.ndjson")}

    for one in EXPORTED:
        with reading(full_engine) as connection:
            rows = connection.execute(exported_rows._query(one)).all()
        assert {row.its_moment for row in rows} <= moments, one.table.name


def test_what_was_sent_comes_out_byte_for_byte(archive: Archive) -> None:
    contents = archive.lines("record/content-0001.ndjson")

    assert len(contents) == 20
    for line in contents:
        assert salted_digest(bytes.fromhex(line["salt"]), line["bytes"].encode()) == line["sealed"]


def test_workings_and_certificates_come_out_byte_for_byte(full_engine: Engine, archive: Archive) -> None:
    with reading(full_engine) as connection:
        issued = {found.number: found.document for found in every_certificate(connection)}

    certificates = archive.lines("record/certificate-0001.ndjson")

    assert {line["number"]: line["bytes"].encode() for line in certificates} == issued
    assert all(digest_of(line["bytes"].encode()) == line["digest"] for line in certificates)
    for line in archive.lines("record/judgement-0001.ndjson"):
        assert digest_of(line["working"].encode()) == line["working_digest"]


def test_the_log_of_an_export_holds(archive: Archive) -> None:
    entries = archive.lines("record/log_entry-0001.ndjson")

    assert [entry["number"] for entry in entries] == list(range(1, archive.manifest["log_number"] + 1))
    assert entries[-1]["hash"] == archive.manifest["log_hash"]
    assert first_break((entry, entry.pop("hash")) for entry in entries) is None


def test_the_manifest_names_every_other_file_with_its_size_digest_and_rows(archive: Archive) -> None:
    named = {file["path"]: file for file in archive.manifest["files"]}

    assert sorted([*named, "manifest.json"]) == sorted(archive.zip.namelist())
    for path, file in named.items():
        content = archive.zip.read(path)
        assert file["digest"] == f"sha256:{hashlib.sha256(content).hexdigest()}"
        assert file["size"] == len(content)
        if path.endswith(".ndjson"):
            assert file["rows"] == content.count(b"\n")
    assert archive.manifest["left_out"] == LEFT_OUT


def test_no_secret_of_a_key_is_in_it(archive: Archive) -> None:
    everything = b"".join(archive.zip.read(path) for path in archive.zip.namelist())

    (key,) = archive.lines("record/access_key-0001.ndjson")
    assert "digest" not in key
    for secret in (SECRET.text, SECRET.text.split("_")[3], digest_of_key(SECRET.text)):
        assert secret.encode() not in everything


def test_the_same_log_entry_gives_the_same_bytes(full_engine: Engine) -> None:
    assert exported(full_engine) == exported(full_engine)


def test_what_is_written_meanwhile_is_not_part_of_it(
    full: Settings, full_engine: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = up_to_now(full_engine, 0, None)
    before = exported(full_engine, asked)
    monkeypatch.setattr("api.routes.receiving.now", lambda: datetime.now(UTC))
    with door_to(full) as client:
        kept = an_id()
        send(client, example(), kept)
        send(client, example(), kept)
        send(client, example("calibration-fail-adjusted"))

    assert exported(full_engine, asked) == before


def test_segments_and_pages_of_any_size_give_the_same_files(
    full_engine: Engine, archive: Archive, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = ExportAsked(0, archive.manifest["log_number"], None)
    monkeypatch.setattr(export_segments, "FILLED", 1000)
    monkeypatch.setattr(exported_rows, "PAGE", 3)
    monkeypatch.setattr(dossiers, "PAGE", 2)

    found = Archive(exported(full_engine, asked))

    assert found.manifest == archive.manifest


def test_what_grows_is_cut_into_parts_that_together_are_the_same(
    full_engine: Engine, archive: Archive, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = ExportAsked(0, archive.manifest["log_number"], None)
    monkeypatch.setattr(export_segments, "FILLED", 20_000)
    monkeypatch.setattr(export_segments, "FILLED_PART", 60_000)

    found = Archive(exported(full_engine, asked))

    parts = [path for path in found.zip.namelist() if path.startswith("record/judgement-")]
    assert len(parts) > 2
    assert b"".join(map(found.zip.read, parts)) == archive.zip.read("record/judgement-0001.ndjson")


def test_since_an_entry_only_what_was_written_after_it_is_in_it(full: Settings, full_engine: Engine) -> None:
    with reading(full_engine) as connection:
        since = head(connection).number
    with door_to(full) as client:
        kept = an_id()
        send(client, example(), kept)

    found = Archive(exported(full_engine, up_to_now(full_engine, since, None)))

    for path in ("calibrations-0001.ndjson", "record/content-0001.ndjson", "record/judgement-0001.ndjson"):
        assert [line["calibration"] for line in found.lines(path)] == [kept], path
    assert [entry["number"] for entry in found.lines("record/log_entry-0001.ndjson")] == [since + 1]
    assert found.lines("register/device_revision.ndjson") == []
    assert [row["calibration"] for row in found.table("csv/comma/calibrations.csv")] == [kept]


def test_an_export_of_a_site_holds_what_a_key_for_that_site_sees(full_engine: Engine, archive: Archive) -> None:
    found = Archive(exported(full_engine, up_to_now(full_engine, 0, ("HM",))))

    def sites(path: str) -> set[str]:
        return {line["site"] for line in found.lines(path)}

    assert sites("record/content-0001.ndjson") == sites("register/device_revision.ndjson") == {"HM"}
    assert [line["key"] for line in found.lines("register/site_revision.ndjson")] == ["HM"]
    assert {row["site"] for row in found.table("csv/comma/readings.csv")} == {"HM"}
    assert {row["site"] for row in found.table("csv/comma/devices.csv")} == {"HM"}
    assert found.lines("register/weight_revision.ndjson") == archive.lines("register/weight_revision.ndjson")
    assert found.lines("record/access_key-0001.ndjson") == []
    assert found.manifest["left_out"]["access_key"].startswith("It is the network's")
    touched = [json.loads(entry["facts"])["touched"] for entry in found.lines("record/log_entry-0001.ndjson")]
    assert not [t for t in touched if {"kind": "site", "key": "QG"} in t and len(t) < 2]


def test_an_empty_record_has_an_export_too(engine: Engine) -> None:
    found = Archive(exported(engine, ExportAsked(0, 0, None)))

    assert found.manifest["moment"] is None
    assert {file["rows"] for file in found.manifest["files"]} == {0}
    assert export_sources.LINES.replace(".", "-0001.") in found.zip.namelist()
