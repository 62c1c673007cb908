"""`steelyard due` lists by due date; `steelyard show` reads the register on a day, as known at a log entry."""

import json
from datetime import UTC, datetime

import pytest

from api.settings import Settings
from tests.cli.conftest import Run, runner_on
from tests.doors import change, example_bytes, send
from tests.filled_record import TODAY, door_to


@pytest.fixture
def fleet(filled: Settings) -> Run:
    """Run commands on the network's register with one calibration of A-04, whose interval is six months."""
    with door_to(filled) as client:
        assert send(client, example_bytes()).status_code == 201
    return runner_on(filled)


def listed(output: str) -> dict[str, list[str]]:
    """Return the lines of `due`, by device, in their order, each as its columns."""
    lines = [line.split(maxsplit=2) for line in output.splitlines()[:-1]]
    return {device: [day, rest] for day, device, rest in lines}


def test_due_counts_months_from_the_day_it_was_left_within_tolerance(fleet: Run) -> None:
    """Measured on 2026-11-24 and due every six months: 2027-05-24, by the calendar."""
    said = fleet("due", "--on", "2026-11-25")

    found = listed(said.output)
    assert said.exit_code == 0
    assert found["A-04"][0] == "2027-05-24"
    assert found["A-04"][1].startswith("not yet due")
    assert found["A-01"][1].startswith("never calibrated")
    assert said.output.splitlines()[-1] == f"{len(found)} scales as of 2026-11-25."


@pytest.mark.parametrize(
    ("day", "state"), [("2027-05-23", "not yet due"), ("2027-05-24", "due today"), ("2027-05-25", "overdue")]
)
def test_a_scale_is_overdue_the_day_after_its_due_date(fleet: Run, day: str, state: str) -> None:
    assert listed(fleet("due", "--on", day).output)["A-04"][1].startswith(state)


def test_the_longest_due_stand_first_and_a_retired_scale_is_left_out(fleet: Run) -> None:
    found = listed(fleet("due", "--on", "2026-11-25").output)

    days = [day for day, _ in found.values()]
    assert days == sorted(days)
    assert "A-13" not in found
    assert len(found) == 22


def test_due_may_be_asked_for_one_site_and_some_days(fleet: Run) -> None:
    highmoor = listed(fleet("due", "--on", "2026-11-25", "--site", "HM").output)
    within = {days: listed(fleet("due", "--on", "2027-05-14", "--within", days).output) for days in ("9", "10")}

    assert set(highmoor) == {"A-02", "A-07", "C-06", "D-03", "E-04", "G-05"}
    assert ("A-04" in within["9"], "A-04" in within["10"]) == (False, True)


def test_without_a_day_today_counts(steelyard: Run) -> None:
    before = datetime.now(UTC).date()
    said = steelyard("due")
    after = datetime.now(UTC).date()

    assert said.output in {f"0 scales as of {day}.\n" for day in (before, after)}


def test_show_reads_one_entity_as_it_is_in_force_on_a_day(filled: Settings) -> None:
    steelyard = runner_on(filled)

    places = {
        day: json.loads(steelyard("show", "device", "A-07", "--on", day).output) for day in ("2025-06-01", str(TODAY))
    }

    assert [places[day]["record"]["site"] for day in places] == ["QG", "HM"]
    assert [places[day]["number"] for day in places] == [1, 2]


def test_show_reads_as_known_at_a_log_number(filled: Settings) -> None:
    steelyard = runner_on(filled)
    with door_to(filled) as client:
        known = client.get("/v1/about").json["log_number"]
        ward = client.get("/v1/wards/QG-ED").json["record"] | {"call_role": "somebody else"}
        assert change(client, "wards/QG-ED", "2025-01-01", ward).status_code == 200

    before = json.loads(steelyard("show", "ward", "QG-ED", "--known-at", str(known)).output)
    now = json.loads(steelyard("show", "ward", "QG-ED").output)

    assert (before["record"]["call_role"], before["number"]) == ("shift lead", 1)
    assert (now["record"]["call_role"], now["number"]) == ("somebody else", 2)


def test_show_without_a_key_lists_the_whole_kind_by_key(filled: Settings) -> None:
    found = json.loads(runner_on(filled)("show", "technician", "--on", str(TODAY)).output)

    assert [item["key"] for item in found] == ["S-01", "T-01", "T-02", "T-03", "T-04"]


def test_a_new_record_begins_with_the_starting_policy_and_its_sources(steelyard: Run) -> None:
    found = json.loads(steelyard("show", "policy", "network").output)

    assert found["number"] == 1
    assert "common practice, no source" in json.dumps(found["record"])


@pytest.mark.parametrize("asked", [("device", "Z-99"), ("device", "A-01", "--on", "1999-01-01")])
def test_what_is_not_on_the_register_that_day_is_told_with_status_1(filled: Settings, asked: tuple[str, ...]) -> None:
    said = runner_on(filled)("show", *asked)

    assert said.exit_code == 1
    assert f"No device '{asked[1]}' is on the register on" in said.output
