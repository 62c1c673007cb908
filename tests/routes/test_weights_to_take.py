"""The weights to take on a round, as the service answers it, on the invented network's register."""

from decimal import Decimal
from typing import Any

import pytest
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from api.settings import Settings
from tests.doors import change
from tests.filled_record import rows

ON = "2026-11-25"


def ask(door: FlaskClient, **more: Any) -> TestResponse:
    return door.post("/v1/rounds:weights", json={"on": ON} | more)


def nominals(door: FlaskClient, pieces: set[str]) -> dict[str, Decimal]:
    """The nominal kilograms of pieces, from the register."""
    found = {code: door.get(f"/v1/weights/{code}?on={ON}").json["record"]["nominal"] for code in pieces}
    return {code: Decimal(n["value"]) * {"kg": 1, "g": Decimal("0.001")}[n["unit"]] for code, n in found.items()}


def test_the_example_of_the_contract_is_answered(door: FlaskClient) -> None:
    described = door.get("/v1/openapi.json").json["paths"]["/v1/rounds:weights"]["post"]
    example = described["requestBody"]["content"]["application/json"]["example"]

    found = door.post("/v1/rounds:weights", json=example)

    assert found.status_code == 200, found.json
    assert [device["device"] for device in found.json["devices"]] == ["A-01", "A-02", "B-02"]
    assert [staying["device"] for staying in found.json["not_with_these"]] == ["C-02"]  # its ward is in a magnet zone
    assert "test outside" in found.json["not_with_these"][0]["why"]
    assert [caution["code"] for caution in found.json["cautions"]] == ["C-07", "C-18", "C-21"]


def test_every_load_is_the_sum_of_pieces_taken_and_in_force(door: FlaskClient) -> None:
    found = ask(door, devices=["A-01", "A-02", "B-02"], sets=["FS-1"]).json
    members = {m["piece"] for m in door.get(f"/v1/weight-sets/FS-1?on={ON}").json["record"]["members"]}
    taken = {p["piece"] for some in found["sets"] for p in some["pieces"]}
    mass = nominals(door, taken)

    assert found["pieces_out"] == len(taken)
    assert taken <= members
    assert Decimal(found["total_kg"]) == sum(mass.values())
    for device in found["devices"]:
        assert device["loads"]
        assert device["lifting"].startswith(f"{device['lifts']} lifts")
        for load in device["loads"]:
            assert set(load["pieces"]) <= taken
            assert sum(mass[code] for code in load["pieces"]) == Decimal(load["made_kg"])
            assert abs(Decimal(load["made_kg"]) - Decimal(load["load_kg"])) <= Decimal(load["load_kg"]) / 50
            assert 3 * Decimal(load["error_bound_kg"]) <= Decimal(load["tolerance_kg"])


def test_the_order_of_the_devices_changes_no_piece(door: FlaskClient) -> None:
    one, other = (ask(door, devices=tags, sets=["FS-1"]).json for tags in (["A-01", "B-02"], ["B-02", "A-01"]))

    assert one["sets"] == other["sets"]
    assert one["devices"] == other["devices"][::-1]


def test_where_no_set_is_named_all_in_force_are_chosen_from(door: FlaskClient) -> None:
    named, free = ask(door, devices=["A-01"], sets=["FS-1"]).json, ask(door, devices=["A-01"]).json

    assert Decimal(free["total_kg"]) <= Decimal(named["total_kg"])
    assert len(free["devices"][0]["loads"]) >= len(named["devices"][0]["loads"])


def test_what_the_pieces_cannot_make_is_told_load_by_load(door: FlaskClient) -> None:
    found = ask(door, devices=["A-01"], sets=["FS-1"], largest_piece={"value": "2", "unit": "kg"}).json
    device = found["devices"][0]

    assert device["impossible"]
    assert all("cannot be made of these pieces" in load["why"] for load in device["impossible"])
    assert f"Proven up to {device['proven_kg']} kg of {device['top_kg']} kg" in device["proves"]
    assert {left["why"] for left in found["left_out"]} == {"over the lifting limit"}


def test_the_limit_of_who_goes_counts_where_it_is_lower(door: FlaskClient) -> None:
    record = door.get(f"/v1/technicians/T-04?on={ON}").json["record"]
    changed = change(door, "technicians/T-04", "2026-11-01", record | {"heaviest_piece": {"value": "10", "unit": "kg"}})
    assert changed.status_code in (200, 201), changed.json

    found = ask(door, devices=["A-01"], technician="T-04", largest_piece={"value": "20", "unit": "kg"}).json

    taken = [p["nominal"] for some in found["sets"] for p in some["pieces"]]
    assert taken
    assert all(n["unit"] == "g" or Decimal(n["value"]) <= 10 for n in taken)


def test_all_that_is_not_on_the_register_is_told_at_once(door: FlaskClient) -> None:
    found = ask(door, devices=["A-01", "NONE-1", "NONE-2"], sets=["NONE-3"], technician="T-99")

    assert (found.status_code, found.json["code"]) == (422, "no-round")
    assert found.json["facts"] == {"devices": "NONE-1, NONE-2", "sets": "NONE-3", "technician": "T-99"}


@pytest.mark.parametrize(
    ("body", "pointer"),
    [
        ({"devices": []}, "#/devices"), ({}, "#"), ({"devices": ["A-01"], "on": "today"}, "#/on"),
        ({"devices": ["A-01"], "largest_piece": {"value": "0", "unit": "kg"}}, "#/largest_piece"),
        ({"devices": ["A-01"], "set": ["FS-1"]}, "#/set"),
    ],
)  # fmt: skip
def test_a_question_of_the_wrong_shape_is_refused_where_it_is_wrong(
    door: FlaskClient, body: dict[str, Any], pointer: str
) -> None:
    found = ask(door, **body)

    assert (found.status_code, found.json["code"]) == (422, "wrong-shape")
    assert pointer in {error["pointer"] for error in found.json["errors"]}


def test_a_retired_scale_is_no_part_of_a_round(door: FlaskClient) -> None:
    found = ask(door, devices=["A-13", "A-01"], sets=["FS-1"]).json

    assert [staying["device"] for staying in found["not_with_these"]] == ["A-13"]
    assert "retired" in found["not_with_these"][0]["why"]


def test_on_a_day_without_certificates_nothing_is_taken(door: FlaskClient) -> None:
    found = ask(door, on="2035-01-01", devices=["A-01"], sets=["FS-1"]).json

    assert (found["pieces_out"], found["sets"], found["devices"][0]["loads"]) == (0, [], [])
    assert {left["why"] for left in found["left_out"]} == {"no certificate in force that day"}
    assert "nothing is proven" in found["devices"][0]["proves"]


def test_nothing_is_kept_of_a_round(door: FlaskClient, kept: Settings) -> None:
    before = rows(kept)
    ask(door, devices=["A-01"], sets=["FS-1"])

    assert rows(kept) == before


def test_the_plan_of_each_scale_can_be_done_with_what_is_taken(door: FlaskClient) -> None:
    # The infant scale's corners ask for 6 to 7 kg of its 20 kg (HB 44 2.20 N.1.3), beside the loads going up.
    body = {"on": "2026-11-25", "devices": ["E-02", "G-01", "A-11"]}
    found = door.post("/v1/rounds:weights", json=body).json

    infant = next(device for device in found["devices"] if device["device"] == "G-01")
    taken = {piece["piece"] for some in found["sets"] for piece in some["pieces"]}
    assert any(6 <= float(load["made_kg"]) <= 7 for load in infant["others"])
    assert all(set(load["pieces"]) <= taken for device in found["devices"] for load in device["others"])
    assert all(device["impossible"] == [] for device in found["devices"])
    assert all(device["proven_kg"] == device["top_kg"] for device in found["devices"])
    assert all(device["whole_plan"]["lifts"] > device["lifts"] for device in found["devices"])
