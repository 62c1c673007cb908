"""`steelyard import`: tried out first, kept on demand, told in totals and faults, the same file only once."""

import json
from pathlib import Path

import pytest

from tests.cli.conftest import Run
from tests.imports.importing import A_PROFILE

HEAD = "Tag;Day;Found;Left;Note\n"
GOOD = HEAD + "A-04;2024-03-14;100.0;;\n"
WRONG = GOOD + "A-05;2024-03-14;100,0;;\n"


@pytest.fixture
def asked(tmp_path: Path) -> list[str]:
    """Give the options that name the profile, in a file."""
    (tmp_path / "profile.json").write_text(json.dumps(A_PROFILE | {"time_zone": "America/Denver"}))
    return ["--profile", str(tmp_path / "profile.json")]


def written(tmp_path: Path, text: str) -> str:
    (tmp_path / "old.csv").write_text(text)
    return str(tmp_path / "old.csv")


def test_a_file_is_tried_out_and_kept_only_when_asked(steelyard: Run, tmp_path: Path, asked: list[str]) -> None:
    file = written(tmp_path, GOOD)

    tried, kept, again = (
        steelyard("import", file, *asked),
        *(steelyard("import", file, *asked, "--commit") for _ in "ab"),
    )

    assert (tried.exit_code, kept.exit_code, again.exit_code) == (0, 0, 0)
    assert "old.csv: tried out." in tried.output
    assert "old.csv: done. 1 new records, 0 on record before, 0 refused." in kept.output
    assert "old.csv: done. 0 new records, 1 on record before, 0 refused." in again.output
    assert "2 rows read = 0 created + 1 replayed + 0 noted + 0 rejected + 1 skipped" in again.output


def test_a_refused_row_is_told_and_nothing_is_kept(steelyard: Run, tmp_path: Path, asked: list[str]) -> None:
    said = steelyard("import", written(tmp_path, WRONG), *asked, "--commit")

    assert said.exit_code == 1
    assert "error number-decimal-sign: 1, first at line 3" in said.output
    assert "1 visits are refused; in the mode 'all' at most 0 may be. Nothing was kept." in said.output


def test_good_rows_are_kept_beside_refused_ones_up_to_the_limit(
    steelyard: Run, tmp_path: Path, asked: list[str]
) -> None:
    file, report = written(tmp_path, WRONG), tmp_path / "report.csv"

    said = steelyard(
        "import", file, *asked, "--commit", "--mode", "each", "--reject-limit", "1", "--report", str(report)
    )

    assert said.exit_code == 1
    assert "old.csv: done. 1 new records, 0 on record before, 1 refused." in said.output
    assert report.read_text().splitlines()[2].startswith("3;rejected;number-decimal-sign;")


def test_what_is_to_be_declared_is_asked(steelyard: Run, tmp_path: Path) -> None:
    profile = tmp_path / "open.json"
    profile.write_text(json.dumps({name: value for name, value in A_PROFILE.items() if name != "decimal"}))

    said = steelyard("import", written(tmp_path, GOOD), "--profile", str(profile))

    assert said.exit_code == 1
    assert "Declare: decimal." in said.output


def test_a_profile_that_is_none_is_told(steelyard: Run, tmp_path: Path) -> None:
    wrong = tmp_path / "wrong.json"
    wrong.write_text('{"code": "x", "colour": "blue"}')
    file = written(tmp_path, GOOD)

    unknown, misshapen = (
        steelyard("import", file, "--profile", "nobody"),
        steelyard("import", file, "--profile", str(wrong)),
    )

    assert unknown.exit_code == misshapen.exit_code == 1
    assert "No import profile 'nobody' is on the register" in unknown.output
    assert "Unknown field." in misshapen.output


def test_a_file_that_cannot_be_read_is_told(steelyard: Run, tmp_path: Path, asked: list[str]) -> None:
    (tmp_path / "old.csv").write_bytes(b"PK\x03\x04")

    said = steelyard("import", str(tmp_path / "old.csv"), *asked)

    assert said.exit_code == 1
    assert "accepted: CSV or NDJSON" in said.output
