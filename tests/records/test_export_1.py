"""An export and a submission of the first form are read by every later program, to the same records and verdicts."""

import json
from collections.abc import Iterator
from pathlib import Path

import pytest

from api.database import make_engine, reading
from api.exchange.dialects import COMMA
from api.exchange.export_profile import readings_profile
from api.ledger.chain import first_break
from api.ledger.digests import digest_of, salted_digest
from api.queries.calibrations import calibration
from api.queries.register import all_chains
from api.records.register import KINDS
from api.settings import Settings
from schemas.imports import profile_of
from tests.cli.conftest import runner_on
from tests.doors import an_id, send
from tests.exports.exporting import Archive
from tests.filled_record import copy_of, door_to

FOLDER = Path(__file__).parent / "export-1"
EXPORT, SUBMISSION = FOLDER / "export.zip", FOLDER / "submission.json"
DIGESTS = {
    EXPORT: "sha256:4bfbd7b4442a3cba17f2b25e9eb934c2df1c86b09d9500511e647eb31b7f518f",
    SUBMISSION: "sha256:cb96c15fc707f729f1e6eacb50b3f1d92e8e95ecd9f4674346a01aadc751b7c2",
}
# As found and as left, as the first program judged them. If a later rule judges otherwise, it says so in a note of change,
# and here; what was judged stays as it was.
JUDGED = {
    "01977ab6-a680-771b-a7e0-b5e652579655": ("pass", "pass"),
    "019af0b8-e340-7a67-a09f-995990beb43e": ("fail", "undecided"),
    "019bec9b-4f40-7259-b681-5093e97557c5": ("pass", "pass"),
    "019c0171-2c00-7e09-8377-5b96c07608a7": ("fail", "fail"),
}
REVISIONS = 137


@pytest.fixture(scope="module")
def archive() -> Archive:
    """Give the archive."""
    return Archive(EXPORT.read_bytes())


@pytest.fixture(scope="module")
def read_back(empty: str, tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Settings, str]]:
    """Give a record that was empty and has the export in it, and what the command said."""
    with copy_of(empty, tmp_path_factory.mktemp("read-back")) as settings:
        said = runner_on(settings)("import", str(EXPORT), "--commit")
        assert said.exit_code == 0, said.output
        yield settings, said.output


@pytest.mark.parametrize("file", DIGESTS, ids=lambda file: file.name)
def test_the_files_are_the_ones_that_were_written_then(file: Path) -> None:
    assert digest_of(file.read_bytes()) == DIGESTS[file]


def test_every_digest_in_it_holds(archive: Archive) -> None:
    for file in archive.manifest["files"]:
        assert digest_of(archive.zip.read(file["path"])) == file["digest"]
    for line in archive.lines("record/content-0001.ndjson"):
        assert salted_digest(bytes.fromhex(line["salt"]), line["bytes"].encode()) == line["sealed"]
    for line in archive.lines("record/judgement-0001.ndjson"):
        assert digest_of(line["working"].encode()) == line["working_digest"]
    for line in archive.lines("record/certificate-0001.ndjson"):
        assert digest_of(line["bytes"].encode()) == line["digest"]
    entries = archive.lines("record/log_entry-0001.ndjson")
    assert first_break((entry, entry.pop("hash")) for entry in entries) is None


def test_its_register_is_read_back_whole(archive: Archive, read_back: tuple[Settings, str]) -> None:
    settings, said = read_back

    assert f"register: {REVISIONS} revisions = {REVISIONS - 1} new + 1 there already." in said
    engine = make_engine(settings.database_url)
    with reading(engine) as connection:
        for kind in KINDS:
            found = [r for chain in all_chains(connection, kind.name) for r in chain]
            path = f"register/{kind.name.replace(' ', '_')}_revision.ndjson"
            if path in archive.zip.namelist():
                assert [(r.key, r.number) for r in found] == [
                    (line["key"], line["revision"]) for line in archive.lines(path)
                ]
    engine.dispose()


def test_its_calibrations_are_read_back_byte_for_byte_to_the_same_verdicts(
    archive: Archive, read_back: tuple[Settings, str]
) -> None:
    settings, said = read_back
    lines = {line["calibration"]: line for line in archive.lines("calibrations-0001.ndjson")}

    assert "4 new records, 0 on record before, 0 refused." in said
    assert set(lines) == set(JUDGED)
    engine = make_engine(settings.database_url)
    with reading(engine) as connection:
        for name, verdicts in JUDGED.items():
            found = calibration(connection, name)
            assert (found.as_found, found.as_left) == verdicts
            assert found.digest == digest_of(lines[name]["bytes"].encode())
    engine.dispose()


def test_read_back_again_it_adds_nothing(read_back: tuple[Settings, str]) -> None:
    settings, _ = read_back

    said = runner_on(settings)("import", str(EXPORT), "--commit")

    assert f"register: {REVISIONS} revisions = 0 new + {REVISIONS} there already." in said.output
    assert "0 new records, 4 on record before, 0 refused." in said.output


def test_the_profile_in_it_is_still_a_profile(archive: Archive) -> None:
    found = profile_of(json.loads(archive.zip.read("csv/comma/readings.profile.json")))

    assert found.code == readings_profile(COMMA).code
    assert len(archive.table("csv/comma/readings.csv")) > 80


def test_the_submission_is_taken_and_judged_as_then(registered: str, tmp_path: Path) -> None:
    body = SUBMISSION.read_bytes()
    with copy_of(registered, tmp_path) as settings, door_to(settings) as client:
        receipt = send(client, body, an_id())

    assert receipt.status_code == 201
    assert receipt.json["digest"] == DIGESTS[SUBMISSION]
    assert (receipt.json["as_found"], receipt.json["as_left"]) == ("fail", "fail")
