"""The contract of the last release is kept: a change that breaks an app built on it moves the first number of its version.

What breaks: own rule, after the robustness that JSON clients are built with: more may be answered, less may be asked.
"""

import json
from copy import deepcopy
from pathlib import Path
from typing import Any

import pytest

from api.cli.contract import contract_text
from tests.contract.breaking_changes import breaking_changes

RELEASED = Path(__file__).parents[2] / "openapi" / "released.json"
Contract = dict[str, Any]


@pytest.fixture(scope="module")
def released() -> Contract:
    found: Contract = json.loads(RELEASED.read_text(encoding="utf-8"))
    return found


def test_nothing_breaks_an_app_of_the_last_release_unless_the_version_moves(released: Contract) -> None:
    now = json.loads(contract_text())

    broken = breaking_changes(released, now)

    moved = int(now["info"]["version"].split(".")[0]) > int(released["info"]["version"].split(".")[0])
    assert moved or broken == []


PUT = "/v1/calibrations/{calibration_id}"


def submission(contract: Contract) -> Contract:
    found: Contract = contract["components"]["schemas"]["Submission"]
    return found


def receipt(contract: Contract) -> Contract:
    found: Contract = contract["components"]["schemas"]["Receipt"]
    return found


def taken_away(contract: Contract) -> None:
    del contract["paths"]["/v1/due"]


def made_required(contract: Contract) -> None:
    submission(contract)["required"].append("ward")


def field_refused(contract: Contract) -> None:
    del submission(contract)["properties"]["remarks"]


def word_refused(contract: Contract) -> None:
    submission(contract)["properties"]["purpose"]["enum"].remove("audit")


def list_shortened(contract: Contract) -> None:
    submission(contract)["properties"]["technicians"]["maxItems"] = 2


def answer_lost(contract: Contract) -> None:
    del receipt(contract)["properties"]["digest"]


def answer_sometimes(contract: Contract) -> None:
    receipt(contract)["required"].remove("digest")


def type_changed(contract: Contract) -> None:
    receipt(contract)["properties"]["log_number"]["type"] = "string"


def parameter_lost(contract: Contract) -> None:
    contract["paths"]["/v1/due"]["get"]["parameters"] = []


def status_lost(contract: Contract) -> None:
    del contract["paths"][PUT]["put"]["responses"]["200"]


BREAKS = {
    taken_away: "GET /v1/due: gone",
    made_required: f"PUT {PUT} body: ward is now required",
    field_refused: f"PUT {PUT} body: remarks no longer taken",
    word_refused: f"PUT {PUT} body.purpose: 'audit' no longer taken",
    list_shortened: f"PUT {PUT} body.technicians: maxItems is now 2",
    answer_lost: f"PUT {PUT} answer 201: digest gone",
    answer_sometimes: f"PUT {PUT} answer 201: digest no longer always there",
    type_changed: f"PUT {PUT} answer 201.log_number: type is now string",
    parameter_lost: "GET /v1/due: parameter on gone",
    status_lost: f"PUT {PUT}: answer 200 gone",
}


@pytest.mark.parametrize("change", BREAKS)
def test_a_change_that_breaks_an_app_is_found(released: Contract, change: Any) -> None:
    changed = deepcopy(released)
    change(changed)

    assert BREAKS[change] in breaking_changes(released, changed)


def test_what_is_added_breaks_nothing(released: Contract) -> None:
    changed = deepcopy(released)
    submission(changed)["properties"]["weather"] = {"type": "string"}
    receipt(changed)["properties"]["weather"] = {"type": "string"}
    changed["paths"]["/v1/weather"] = {"get": {"responses": {}}}

    assert breaking_changes(released, changed) == []
