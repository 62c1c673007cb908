"""An export read back: into the same record it adds nothing; into an empty one it makes the same records, judged anew."""

import json
import zipfile
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Engine, select

from api.actions.end_import import give_up_import
from api.database import make_engine, reading, unit_of_work
from api.demo.network import register_entries
from api.exchange.dialects import COMMA, DIALECTS, Dialect
from api.exchange.export_profile import readings_profile
from api.keeping.imported_standing import Word, void_imported
from api.models.record import JUDGEMENT
from api.queries.calibrations import calibration
from api.queries.register import all_chains
from api.records.register import KINDS
from api.settings import Settings
from tests.cli.conftest import runner_on
from tests.exports.exporting import Archive, exported, written
from tests.filled_record import NOON, TODAY, copy_of, kept_tables, put_register, rows
from tests.imports.importing import imported, rows_of


def archive_of(settings: Settings) -> Archive:
    engine = make_engine(settings.database_url)
    found = Archive(exported(engine))
    engine.dispose()
    return found


@pytest.fixture
def bare(empty: str, tmp_path: Path) -> Iterator[Settings]:
    """Give the settings of a record with nothing in it but the starting policy."""
    with copy_of(empty, tmp_path / "bare") as settings:
        yield settings


@pytest.fixture
def file(full_engine: Engine, tmp_path: Path) -> Path:
    """Give an export of everything as an archive."""
    return written(full_engine, tmp_path)


def kept(settings: Settings) -> dict[str, int]:
    counted = rows(settings)
    return {table: counted[table] for table in kept_tables() if not table.startswith("log_")}


def register_of(settings: Settings) -> dict[str, list[tuple[str, int, date, Any]]]:
    engine = make_engine(settings.database_url)
    with reading(engine) as connection:
        found = {
            kind.name: [(r.key, r.number, r.valid_from, r.record) for c in all_chains(connection, kind.name) for r in c]
            for kind in KINDS
        }
    engine.dispose()
    return found


def revisions_in(file: Path) -> int:
    manifest = Archive(file.read_bytes()).manifest
    return sum(found["rows"] for found in manifest["files"] if found["path"].startswith("register/"))


def test_into_the_same_record_it_adds_nothing_and_says_so(full: Settings, file: Path) -> None:
    before, revisions = kept(full), revisions_in(file)

    said = runner_on(full)("import", str(file), "--commit")

    assert said.exit_code == 0, said.output
    assert f"register: {revisions} revisions = 0 new + {revisions} there already." in said.output
    assert "0 new records, 18 on record before, 0 refused." in said.output
    assert kept(full) == before


def test_into_an_empty_record_it_makes_the_same_records(full: Settings, bare: Settings, file: Path) -> None:
    archive = Archive(file.read_bytes())

    said = runner_on(bare)("import", str(file), "--commit")

    assert said.exit_code == 0, said.output
    assert f"{revisions_in(file) - 1} new + 1 there already." in said.output
    assert "18 new records, 0 on record before, 0 refused." in said.output
    assert register_of(bare) == register_of(full)
    again = archive_of(bare)
    for line, anew in zip(*(a.lines("calibrations-0001.ndjson") for a in (archive, again)), strict=True):
        for name in ("calibration", "site", "bytes", "judged"):
            assert line[name] == anew[name]


def test_totals_of_both_services_add_up(full: Settings, bare: Settings, file: Path) -> None:
    archive = Archive(file.read_bytes())
    runner_on(bare)("import", str(file), "--commit")

    again = archive_of(bare)

    for path in ("register/device_revision.ndjson", "calibrations-0001.ndjson", "csv/comma/readings.csv"):
        counted = [{f["path"]: f["rows"] for f in a.manifest["files"]}[path] for a in (archive, again)]
        assert counted[0] == counted[1] > 0


def test_tried_out_it_keeps_nothing_and_says_what_would_come(bare: Settings, file: Path) -> None:
    before = kept(bare)

    said = runner_on(bare)("import", str(file))

    assert said.exit_code == 0, said.output
    assert f"{revisions_in(file) - 1} to put on + 1 there already." in said.output
    assert kept(bare) == before


def test_a_folder_is_read_back_like_an_archive(full: Settings, file: Path, tmp_path: Path) -> None:
    with zipfile.ZipFile(file) as archive:
        archive.extractall(tmp_path / "folder")

    said = runner_on(full)("import", str(tmp_path / "folder"))

    assert said.exit_code == 0, said.output
    assert f"0 to put on + {revisions_in(file)} there already." in said.output


def test_a_file_that_was_changed_is_refused(full: Settings, bare: Settings, file: Path, tmp_path: Path) -> None:
    with zipfile.ZipFile(file) as archive:
        archive.extractall(tmp_path / "folder")
    lines = tmp_path / "folder" / "calibrations-0001.ndjson"
    lines.write_bytes(lines.read_bytes().replace(b"100.1", b"100.0", 1))

    said = runner_on(bare)("import", str(tmp_path / "folder"), "--commit")

    assert said.exit_code == 1
    assert "calibrations-0001.ndjson is not the file that the manifest names" in said.output
    assert kept(bare)["content"] == 0


def test_a_register_that_went_another_way_is_left_as_it_is(bare: Settings, file: Path) -> None:
    qg = next(entry for entry in register_entries(TODAY) if (entry.collection, entry.key) == ("sites", "QG"))
    put_register(bare.database_url, [replace(qg, record=qg.record | {"name": "Another place"})])
    before = register_of(bare)["site"]

    said = runner_on(bare)("import", str(file), "--commit")

    assert "left as they are here, because they were changed otherwise: site QG" in said.output
    assert said.exit_code == 1
    assert before[0] in register_of(bare)["site"]


def test_a_verdict_that_comes_out_otherwise_is_told_and_both_are_kept(
    full_engine: Engine, engine: Engine, file: Path
) -> None:
    line = next(
        line for line in Archive(file.read_bytes()).lines("calibrations-0001.ndjson") if '"A-04"' in line["bytes"]
    )
    line["judged"]["as_left"] = "fail"

    told = imported(engine, json.dumps(line).encode() + b"\n", _lines_profile())

    (row,) = rows_of(engine, told.file_import)
    assert row.status == "noted"
    assert "verdict-differs" in {fault.code for fault in row.faults}
    with reading(engine) as connection:
        kept = connection.execute(select(JUDGEMENT).where(JUDGEMENT.c.calibration == line["calibration"])).one()
        found = calibration(connection, line["calibration"])
    assert (kept.app_as_left, kept.as_left) == ("fail", row.as_left)
    assert json.dumps(found.content) == json.dumps(json.loads(line["bytes"]))


def _lines_profile() -> Any:
    from api.cli.import_export import PROFILE

    return PROFILE


def test_a_void_record_is_no_line_to_be_read_back(registered: str, tmp_path: Path, full_engine: Engine) -> None:
    lines = Archive(exported(full_engine)).zip.read("calibrations-0001.ndjson")
    with copy_of(registered, tmp_path / "void") as settings:
        engine = make_engine(settings.database_url)
        told = imported(engine, lines, _lines_profile())
        unit_of_work(engine, lambda c: void_imported(c, told.file_import, Word("T-01", NOON, "a test")))

        found = Archive(exported(engine))

        assert found.lines("calibrations-0001.ndjson") == []
        assert {row["standing"] for row in found.table("csv/comma/calibrations.csv")} == {"void"}
        assert len(found.lines("record/content-0001.ndjson")) == 18
        engine.dispose()


@pytest.mark.parametrize("dialect", DIALECTS, ids=lambda dialect: dialect.name)
def test_readings_of_a_table_come_back_as_the_same_records_by_the_profile_beside_it(
    full_engine: Engine, engine: Engine, dialect: Dialect
) -> None:
    """What a table has no column for is left behind: readings, loads, pieces, times and ids are the same."""
    archive = Archive(exported(full_engine))
    shipped = json.loads(archive.zip.read(f"csv/{dialect.name}/readings.profile.json"))

    told = imported(engine, archive.zip.read(f"csv/{dialect.name}/readings.csv"), readings_profile(dialect))

    assert shipped["delimiter"] == dialect.delimiter
    assert told.state == "done", [row.faults for row in rows_of(engine, told.file_import) if row.status == "rejected"]
    with reading(full_engine) as before, reading(engine) as after:
        for row in rows_of(engine, told.file_import):
            if row.calibration is None:
                continue
            was = calibration(before, row.calibration)
            found = calibration(after, row.calibration)
            assert (found.device, found.performed_from, found.performed_to) == (
                was.device, was.performed_from, was.performed_to,
            )  # fmt: skip
            for phase in ("as_found", "as_left"):
                assert _taken(found.content, phase) == _taken(was.content, phase)


def _taken(content: dict[str, Any], phase: str) -> list[dict[str, Any]]:
    names = ("seq", "test", "load", "indication", "pieces", "position")
    readings = content.get(phase, {}).get("readings", ())
    return [{name: reading.get(name) or None for name in names} for reading in readings]


def test_the_table_read_back_into_its_own_record_makes_no_second_record(full: Settings, full_engine: Engine) -> None:
    table = Archive(exported(full_engine)).zip.read("csv/comma/readings.csv")
    before = kept(full)

    told = imported_or_refused(full_engine, table)

    assert told.tried is not None
    assert told.tried.visits.created == told.tried.visits.noted == 0
    assert kept(full) == before


def imported_or_refused(engine: Engine, table: bytes) -> Any:
    from tests.imports.importing import tried

    told = tried(engine, table, readings_profile(COMMA))
    unit_of_work(engine, lambda c: give_up_import(c, told.file_import, Word("T-01", NOON, "a test")))
    return told
