"""What `steelyard show` prints can be changed and put back by `steelyard register`; nothing is put over what was not seen."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result

from api.records.register import KINDS
from api.settings import Settings
from tests.cli.conftest import Run, runner_on
from tests.filled_record import TODAY, rows

ON = ("--on", TODAY.isoformat())
Back = Callable[..., Result]


@pytest.fixture
def steelyard(filled: Settings) -> Run:
    """Run commands on a record that holds the network's register."""
    return runner_on(filled)


@pytest.fixture
def put_back(steelyard: Run, tmp_path: Path) -> Back:
    """Put something on the register from a file."""

    def put(kind: str, content: Any, *options: str) -> Result:
        file = tmp_path / "taken-out.json"
        file.write_text(json.dumps(content), "utf-8")
        return steelyard("register", kind, str(file), *options)

    return put


def taken_out(steelyard: Run, *asked: str) -> Any:
    return json.loads(steelyard("show", *asked).output)


@pytest.mark.parametrize("kind", [kind.name for kind in KINDS])
def test_what_is_shown_is_put_back_and_is_already_so(
    steelyard: Run, put_back: Back, filled: Settings, kind: str
) -> None:
    shown, before = taken_out(steelyard, kind, *ON), rows(filled)
    assert shown

    said = put_back(kind, shown)

    first, *notes = said.output.splitlines()
    assert (said.exit_code, first) == (0, f"0 new revisions, {len(shown)} already so.")
    assert all(line.startswith("note ") for line in notes)
    assert rows(filled) == before


def test_what_is_shown_and_changed_is_a_new_revision(steelyard: Run, put_back: Back) -> None:
    device = taken_out(steelyard, "device", "A-04", *ON)
    device["record"]["place"] = "Room 12"

    said = put_back("device", device | {"valid_from": TODAY.isoformat()}, "--by", "T-02")

    assert said.output == "1 new revisions, 0 already so.\n"
    now = taken_out(steelyard, "device", "A-04", *ON)
    assert (now["number"], now["record"], now["recorded_by"]) == (device["number"] + 1, device["record"], "T-02")


def test_of_a_list_only_what_was_changed_is_a_new_revision(steelyard: Run, put_back: Back) -> None:
    wards = taken_out(steelyard, "ward", *ON)
    wards[1]["record"]["call_number"] = "extension 99"

    said = put_back("ward", wards)

    assert said.output == f"1 new revisions, {len(wards) - 1} already so.\n"


def test_what_was_not_changed_is_left_alone_though_a_newer_revision_stands(steelyard: Run, put_back: Back) -> None:
    ward = taken_out(steelyard, "ward", "QG-CDU", *ON)
    put_back("ward", {"valid_from": ward["valid_from"], "record": ward["record"] | {"name": "Newer"}})

    said = put_back("ward", ward)

    assert said.output == "0 new revisions, 1 already so.\n"
    assert taken_out(steelyard, "ward", "QG-CDU", *ON)["record"]["name"] == "Newer"


@pytest.mark.parametrize("newer_from", ["2026-01-01", "2026-11-25"])
def test_what_was_changed_by_another_in_the_meantime_is_not_put_over_it(
    steelyard: Run, put_back: Back, filled: Settings, newer_from: str
) -> None:
    ward = taken_out(steelyard, "ward", "QG-CDU", *ON)
    put_back("ward", {"valid_from": newer_from, "record": ward["record"] | {"name": "Newer"}})
    before = rows(filled)

    said = put_back("ward", ward | {"valid_from": "2026-11-25", "record": ward["record"] | {"name": "Mine"}})

    assert said.exit_code == 1
    assert (
        "'QG-CDU' was taken out as revision 1; on 2026-11-25 revision 2 holds. Take it out as it holds on that day, "
        "and change that. Nothing of the file was kept."
    ) in said.output
    assert rows(filled) == before


def test_an_older_revision_is_corrected_for_its_own_days(steelyard: Run, put_back: Back) -> None:
    ward = taken_out(steelyard, "ward", "QG-CDU", *ON)
    put_back("ward", {"valid_from": "2026-11-01", "record": ward["record"] | {"name": "Newer"}})

    said = put_back("ward", ward | {"record": ward["record"] | {"name": "Corrected"}})

    assert said.output == "1 new revisions, 0 already so.\n"
    names = [
        taken_out(steelyard, "ward", "QG-CDU", "--on", day)["record"]["name"] for day in ("2026-10-31", "2026-11-01")
    ]
    assert names == ["Corrected", "Newer"]


def test_a_revision_that_is_not_on_this_register_is_refused(steelyard: Run, put_back: Back) -> None:
    ward = taken_out(steelyard, "ward", "QG-CDU", *ON)

    said = put_back("ward", ward | {"number": 7, "record": ward["record"] | {"name": "Mine"}})

    assert said.exit_code == 1
    assert "taken out as revision 7, which is not on this register" in said.output


def test_every_fault_of_what_is_put_back_is_told_at_once(steelyard: Run, put_back: Back) -> None:
    ward = taken_out(steelyard, "ward", "QG-CDU", *ON)
    wrong = ward | {"kind": "site", "key": "QG-OLD", "number": "1", "colour": 1}
    wrong["record"] = ward["record"] | {"use_tier": "sometimes"}

    said = put_back("ward", [ward, wrong])

    assert said.exit_code == 1
    told = [line.split(":")[0].strip() for line in said.output.splitlines()[1:]]
    assert sorted(told) == [f"item 2 #/{name}" for name in ("colour", "key", "kind", "number", "record/use_tier")]
