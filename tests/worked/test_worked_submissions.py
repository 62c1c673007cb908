"""Every worked submission of `openapi/worked` is answered as its file says: verdicts, errors, tolerances and flags.

The expectations were calculated outside the program, or come from the source that each file names.
"""

import json
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient

from api.metrology.mass import mass
from tests.doors import an_id, change, send
from tests.filled_record import copy_of, door_to

WORKED = Path(__file__).parents[2] / "openapi" / "worked"
CASES = {path.stem: path for path in sorted((WORKED / "cases").glob("*.json"))}


def read(path: Path) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    return found


@pytest.fixture(scope="module")
def bench(empty: str, tmp_path_factory: pytest.TempPathFactory) -> Iterator[FlaskClient]:
    """Give a client of a record whose register is that of the worked cases, put there over HTTP as a stranger would."""
    with copy_of(empty, tmp_path_factory.mktemp("worked")) as settings, door_to(settings) as client:
        for entry in read(WORKED / "register.json")["entries"]:
            answer = change(client, entry["address"].removeprefix("/v1/"), entry["valid_from"], entry["record"])
            assert answer.status_code in (200, 201), answer.json.get("errors", answer.json)
        yield client


def test_there_are_at_least_forty_worked_submissions_and_the_tolerance_cases_are_among_them() -> None:
    assert len(CASES) >= 40
    assert {f"d{n:02d}-{which}" for n in range(1, 26) for which in ("within", "beyond")} <= set(CASES)


@pytest.mark.parametrize("name", CASES)
def test_a_worked_submission_is_judged_as_its_file_says(bench: FlaskClient, name: str) -> None:
    case = read(CASES[name])
    calibration = an_id()

    answer = send(bench, case["submission"], calibration)

    assert answer.status_code == 201, answer.json.get("errors", answer.json)
    receipt, expected = answer.json, case["expected"]
    assert sorted({flag["code"] for flag in receipt["flags"]}) == expected["flags"]
    assert {name: receipt.get(name) for name in ("as_found", "as_left") if name in expected} == {
        name: expected[name] for name in ("as_found", "as_left") if name in expected
    }
    working = bench.get(f"/v1/calibrations/{calibration}?site={case['submission']['site']}").json["working"]
    for wanted in expected.get("points", ()):
        assert_point(working, wanted)
    for wanted in expected.get("tests", ()):
        phase = working[wanted.get("phase", "as_found")]
        judged = next(test for test in phase["tests"] if test["test"] == wanted["test"])
        assert judged["verdict"] == wanted["verdict"]


def assert_point(working: dict[str, Any], wanted: dict[str, Any]) -> None:
    phase = working[wanted.get("phase", "as_found")]
    point = next(point for point in phase["points"] if point["seq"] == wanted["seq"])
    assert point["verdict"] == wanted["verdict"]
    assert [reason["code"] for reason in point["reasons"]] == wanted.get("reasons", [])
    if "error" in wanted:
        assert Decimal(point["error_kg"]) == mass(*wanted["error"].values()).kg
    if "tolerance" in wanted:
        assert Decimal(point["tolerance_kg"]) == mass(*wanted["tolerance"].values()).kg
