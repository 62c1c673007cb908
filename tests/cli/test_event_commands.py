"""`steelyard report`, `events`, `close` and `limit`: what the desk tells and reads between calibrations."""

import json
import re

import pytest
from click.testing import Result

from tests.cli.conftest import Desk
from tests.doors import example

AFTER, NEXT = "2026-11-24T23:00:00-07:00", "2026-11-25T00:30:00-07:00"
TOLD = ("--site", "QG", "--for", "nurse in charge", "--at", AFTER)
LIMIT = ("limit", "A-09", "120 kg", "--until", "2027-02-28", "--reason", "Reads low above it.", "--at", AFTER)
NOWHERE = "0193f0aa-0000-7000-8000-0000000000b2"


def id_in(said: Result) -> str:
    found = re.search(r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}", said.output)
    assert found is not None, said.output
    return found[0]


def listed(desk: Desk, *arguments: str) -> list[str]:
    said = desk.here("events", *arguments)
    assert said.exit_code == 0, said.output
    return said.output.splitlines()


def test_a_report_is_kept_and_says_what_to_do_now(desk: Desk) -> None:
    desk.sent(example())

    said = desk("report", "A-04", "dropped", *TOLD)

    assert said.exit_code == 0, said.output
    assert "open until it is closed: dropped" in said.output
    assert "C-17" in said.output
    assert any("report: dropped" in line and "open" in line for line in listed(desk, "A-04", "--on", "2026-11-25"))


def test_the_same_report_told_twice_is_kept_once(desk: Desk) -> None:
    first, again = (desk("report", "B-02", "moved", *TOLD) for _ in range(2))

    assert id_in(first) == id_in(again)
    assert "kept before" in again.output
    assert listed(desk, "B-02", "--on", "2026-11-25")[-1] == "1 events, 1 open as of 2026-11-25."


def test_events_are_listed_with_whether_they_are_open_and_linked(desk: Desk) -> None:
    desk("report", "Z-77", "damaged", *TOLD, "--words", "The plate is bent.")

    (line, total) = listed(desk, "Z-77", "--on", "2026-11-25")

    assert line.split()[:4] == ["2026-11-24", "Z-77", "report:", "damaged"]
    assert "open, not linked" in line
    assert "bent" not in line
    assert total == "1 events, 1 open as of 2026-11-25."
    assert listed(desk, "Z-77", "--open", "--on", "2026-11-23")[-1].startswith("0 events")
    assert listed(desk, "Z-77", "--kind", "check")[-1].startswith("0 events")
    assert listed(desk, "--site", "HM", "--on", "2026-11-25")[-1].startswith("0 events")


def test_a_person_closes_an_event_in_words(desk: Desk) -> None:
    event = id_in(desk("report", "A-01", "damaged", *TOLD))

    said = desk("close", event, "--words", "Nothing bent; read right with 20 kg.")
    again = desk("close", event, "--words", "Nothing at all.")

    assert said.exit_code == 0, said.output
    assert "by S-01" in said.output
    assert (again.exit_code, "was closed by S-01" in again.output) == (1, True)


def test_a_limit_in_writing_is_on_the_register(desk: Desk) -> None:
    said = desk(*LIMIT)

    assert said.exit_code == 0, said.output
    record = json.loads(desk.here("show", "device", "A-09", "--on", "2026-11-25").output)["record"]
    assert record["state"] == "limited"
    assert record["limit"] == {
        "up_to": {"value": "120", "unit": "kg"}, "reason": "Reads low above it.", "decided_by": "S-01",
        "until": "2027-02-28",
    }  # fmt: skip


@pytest.mark.parametrize(("arguments", "said"), [
    (("limit", "A-04", "120", "--until", "2027-02-28", "--reason", "x"), "#/up_to/unit"),
    (("limit", "A-04", "120 kg", "--until", "2020-02-28", "--reason", "x"), "#/until"),
    (("limit", "Z-78", "120 kg", "--until", "2099-02-28", "--reason", "x"), "No device 'Z-78'"),
    (("limit", "A-04", "120 kg", "--until", "2099-02-28", "--reason", "Mrs Smith said so"), "names-a-person"),
    (("close", NOWHERE, "--words", "In order."), "not on record"),
    (("report", "A-04", "other", "--site", "QG", "--for", "porter"), "words"),
    (("report", "A-04", "moved", "--site", "QG", "--for", "porter", "--at", "yesterday"), "with its offset"),
    (("report", "A-04", "fell", "--site", "QG", "--for", "porter"), "'fell' is not one of"),
])  # fmt: skip
def test_what_does_not_fit_is_told_and_nothing_is_kept(desk: Desk, arguments: tuple[str, ...], said: str) -> None:
    before = listed(desk)

    answer = desk(*arguments)

    assert answer.exit_code in (1, 2)
    assert said in answer.output
    assert listed(desk) == before
