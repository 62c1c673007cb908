"""`steelyard check`: what a submission would be judged; nothing is kept."""

import json
from pathlib import Path
from typing import Any

import pytest

from api.settings import Settings
from tests.cli.conftest import Run, runner_on
from tests.doors import example, reading_of
from tests.filled_record import EXAMPLES, rows

PASS = str(EXAMPLES / "calibration-pass.json")


@pytest.fixture
def on_register(filled: Settings) -> Run:
    return runner_on(filled)


def written(folder: Path, body: Any) -> str:
    file = folder / "visit.json"
    file.write_text(body if isinstance(body, str) else json.dumps(body), "utf-8")
    return str(file)


def test_a_good_visit_is_told_to_pass_and_keeps_nothing(on_register: Run, filled: Settings) -> None:
    before = rows(filled)

    said = on_register("check", PASS)

    assert said.exit_code == 0
    assert said.output.startswith("as found: pass.")
    assert "Nothing would be flagged: it would be released at once." in said.output
    assert rows(filled) == before


def test_a_wrong_reading_is_told_with_its_error_and_tolerance(on_register: Run, tmp_path: Path) -> None:
    """Class III, 1500 e: maintenance tolerance 2 e = 0.2 kg (NIST HB 44 section 2.20 Table 6, 501 to 2000 e)."""
    body = example()
    reading_of(body, "increasing", load="150")["indication"]["value"] = "150.5"

    said = on_register("check", written(tmp_path, body))

    assert said.exit_code == 0
    assert "as found: fail." in said.output
    line = next(line for line in said.output.splitlines() if line.strip().startswith("reading") and "150" in line)
    assert "fail, error 0.5" in line or "fail, error 0.49" in line
    assert "against 0.2 kg" in line


def test_what_has_to_be_reached_is_not_told_as_a_limit(on_register: Run) -> None:
    """Discrimination asks for a change of at least so much; an eccentricity error may be at most so much."""
    said = on_register("check", PASS).output

    (found,) = [line for line in said.splitlines() if line.startswith("  discrimination:")]
    corners = [line for line in said.splitlines() if line.startswith("  eccentricity:")]
    assert found.endswith("smallest change 0.2 kg, at least 0.2 kg)")
    assert all(line.endswith("range 0 kg, limit 0.2 kg)") for line in corners)


def test_what_would_be_flagged_is_told_with_its_place(on_register: Run, tmp_path: Path) -> None:
    said = on_register("check", written(tmp_path, example() | {"device": "Z-99"}))

    assert said.exit_code == 0
    assert "flag unknown-device at #/device: No device 'Z-99' was on the register that day." in said.output
    assert "released at once" not in said.output


def test_a_wrong_shape_is_told_with_every_fault_and_status_1(on_register: Run, tmp_path: Path) -> None:
    body = example() | {"colour": "red"}
    body["as_found"]["readings"][0]["indication"] = {"value": 0, "unit": "lb"}
    del body["device"]

    said = on_register("check", written(tmp_path, body))

    assert said.exit_code == 1
    for place in ("#/colour:", "#: device: Missing", "#/as_found/readings/0/indication"):
        assert place in said.output
    assert "[lb_av]" in said.output


@pytest.mark.parametrize("text", ["", "[1, 2", '{"a": 1e5}', '{"a": 1, "a": 2}', "\x00"])
def test_what_is_not_strict_json_is_told_without_a_trace(on_register: Run, tmp_path: Path, text: str) -> None:
    said = on_register("check", written(tmp_path, text))

    assert said.exit_code == 1
    assert said.output.startswith("Error: #")


def test_the_whole_working_is_printed_as_json(on_register: Run) -> None:
    said = on_register("check", "--working", PASS)

    working = json.loads(said.output)
    assert said.exit_code == 0
    assert working["as_found"]["verdict"] == "pass"
    assert working["as_found"]["points"][0]["seq"] == 1


def test_an_attempt_is_told_to_have_measured_nothing(on_register: Run) -> None:
    said = on_register("check", str(EXAMPLES / "calibration-not-tested.json"))

    assert said.exit_code == 0
    assert said.output.startswith("Nothing was measured.")


def test_each_step_of_a_test_is_told_with_the_source_of_its_limit(on_register: Run) -> None:
    """0.008 g is 2000.089 - 2000.081 g, the change-over points of the example; 0.5 e of 0.1 g is 0.05 g."""
    said = on_register("check", str(EXAMPLES / "calibration-balance.json")).output

    assert "minute 0 to 15: 2000.089 - 2000.081 = 0.008 g, limit 0.5 e = 0.05 g" in said
    assert "limit: OIML R 76-1:2006 3.9.4.1: 0.5 e in 30 minutes" in said
    assert "minimum weight: 12.7 g (USP general chapter 41" in said
    assert said.count("as left: pass, as found: nothing was adjusted") == 1


def test_what_a_ward_needs_is_told_beside_the_verdict(on_register: Run) -> None:
    said = on_register("check", str(EXAMPLES / "calibration-dialysis.json")).output

    assert "3.12 shown - 3 added to 100 kg = 0.11998 kg, U " in said
    assert "what ward QG-DIA needs: not met (The ward's limit at 103 kg is 0.1 kg either way." in said
