"""The plan as the service answers it, on the invented network's register."""

import json

import pytest
from flask.testing import FlaskClient

from api.ledger.digests import canonical_bytes, digest_of

ON = "on=2026-11-25"


@pytest.mark.parametrize(
    ("tag", "weight_set"),
    [("A-01", "FS-1"), ("B-02", "FS-1"), ("C-05", "FS-1"), ("C-06", "FS-2"), ("E-02", "FS-1"), ("G-01", "IN-1")],
)
def test_a_plan_names_pieces_of_the_set_that_make_its_loads(door: FlaskClient, tag: str, weight_set: str) -> None:
    read = door.get(f"/v1/devices/{tag}/plan?{ON}&set={weight_set}")

    assert read.status_code == 200
    plan = read.json["plan"]
    up = [step for step in plan["steps"] if step.get("test") == "increasing" and step.get("pieces")]
    members = door.get(f"/v1/weight-sets/{weight_set}?{ON}").json["record"]["members"]
    assert len(up) >= 5
    assert {code for step in plan["steps"] for code in step["pieces"]} <= {m["piece"] for m in members}
    assert all({"as_found", "as_left", "source"} <= set(step["tolerance"]) for step in up)
    assert {c["code"] for c in read.json["cautions"]} >= {"C-07", "C-08", "C-09", "C-14", "C-20", "C-21"}


def test_the_digest_is_over_the_plan_and_the_same_every_time(door: FlaskClient) -> None:
    first, again = (door.get(f"/v1/devices/A-01/plan?{ON}&set=FS-1") for _ in range(2))

    assert first.data == again.data
    content = {name: value for name, value in json.loads(first.data)["plan"].items() if name != "on"}
    assert digest_of(canonical_bytes(content)) == first.json["digest"]


def test_without_a_set_the_plan_says_so(door: FlaskClient) -> None:
    plan = door.get(f"/v1/devices/A-01/plan?{ON}").json["plan"]

    assert "No set was named" in plan["proves"]
    assert not any(step["pieces"] for step in plan["steps"])
    assert any(step.get("load") for step in plan["steps"])


def test_a_magnet_zone_stops_the_plan(door: FlaskClient) -> None:
    plan = door.get(f"/v1/devices/C-02/plan?{ON}&set=FS-1").json["plan"]

    assert [step["cautions"] for step in plan["steps"]] == [["C-18"]]
    assert "imaging safety officer, extension 4 466" in plan["steps"][0]["do"]
    assert not plan["steps"][0]["pieces"]


def test_a_scale_of_a_magnet_zone_is_planned_for_the_ward_where_it_is_tested(door: FlaskClient) -> None:
    plan = door.get(f"/v1/devices/C-02/plan?{ON}&set=FS-1&ward=QG-ED").json["plan"]

    assert "stops" not in plan
    assert any(step["pieces"] for step in plan["steps"])


@pytest.mark.parametrize("limit", ["largest_piece=10%20kg", "technician=T-LIGHT"])
def test_no_piece_is_over_the_lifting_limit_of_whoever_goes(door: FlaskClient, limit: str) -> None:
    """The lower of the two counts, as on a round."""
    who = {"code": "T-LIGHT", "employer": "hospital", "active": True, "heaviest_piece": {"value": "10", "unit": "kg"}}
    put = door.put("/v1/technicians/T-LIGHT", json={"valid_from": "2026-01-01", "record": who})
    assert put.status_code in (200, 201), put.json

    plan = door.get(f"/v1/devices/A-01/plan?{ON}&set=FS-1&{limit}").json["plan"]

    assert {left["why"] for left in plan["left_out"]} == {"over the lifting limit"}
    assert not any(code.startswith("FS1-20") for step in plan["steps"] for code in step["pieces"])


def test_the_digest_changes_with_the_content_and_not_with_the_day(door: FlaskClient) -> None:
    today, tomorrow, light = (
        door.get(f"/v1/devices/A-01/plan?set=FS-1&{asked}").json
        for asked in ("on=2026-11-25", "on=2026-11-26", "on=2026-11-25&largest_piece=10%20kg")
    )

    assert (today["plan"]["on"], tomorrow["plan"]["on"]) == ("2026-11-25", "2026-11-26")
    assert today["digest"] == tomorrow["digest"] != light["digest"]


def test_the_need_of_the_ward_stands_beside_the_tolerance(door: FlaskClient) -> None:
    plan = door.get(f"/v1/devices/A-11/plan?{ON}").json["plan"]

    zero = next(step for step in plan["steps"] if step.get("test") == "zero set")
    assert zero["tolerance"]["ward_needs"] == {"value": "0.2", "unit": "kg"}


@pytest.mark.parametrize(
    ("asked", "status", "code"),
    [
        ("A-01/plan?on=2026-11-25&set=NONE", 422, "no-plan"), ("A-01/plan?on=2035-01-01&set=FS-1", 422, "no-plan"),
        ("NONE/plan?on=2026-11-25", 404, "not-on-record"), ("A-01/plan?on=1999-01-01", 404, "not-on-record"),
        ("A-01/plan?on=today", 400, "bad-question"),
        ("A-01/plan?on=2026-11-25&technician=NONE", 422, "no-plan"), ("A-01/plan?on=2026-11-25&ward=NONE", 422, "no-plan"),
        ("A-01/plan?on=2026-11-25&largest_piece=10", 400, "bad-question"),
    ],
)  # fmt: skip
def test_a_plan_that_cannot_be_made_says_why(door: FlaskClient, asked: str, status: int, code: str) -> None:
    read = door.get(f"/v1/devices/{asked}")

    assert (read.status_code, read.json["code"]) == (status, code)


def test_a_dual_unit_scale_is_planned_in_kilograms_and_then_in_pounds(door: FlaskClient) -> None:
    steps = door.get(f"/v1/devices/B-02/plan?{ON}&set=FS-1").json["plan"]["steps"]

    units = [step.get("display_unit", "kg") for step in steps if step.get("test") in ("increasing", "unit switch")]
    assert units == sorted(units, reverse=True)
    assert set(units) == {"kg", "[lb_av]"}
    pounds = [step for step in steps if "display_unit" in step and "in_display" in step]
    assert all(step["tolerance"]["as_found"]["unit"] == "[lb_av]" for step in pounds)


def test_a_dead_load_of_the_model_is_taken_from_what_is_safe(door: FlaskClient) -> None:
    held = door.get(f"/v1/models/BED-250?{ON}")
    record = held.json["record"] | {"dead_load": {"value": "55", "unit": "kg"}}
    put = door.put(
        "/v1/models/BED-250",
        json={"valid_from": "2026-11-01", "record": record},
        headers={"If-Match": held.headers["ETag"]},
    )
    assert put.status_code == 200, put.json

    before, after = (door.get(f"/v1/devices/E-02/plan?on={on}").json["plan"] for on in ("2026-10-31", "2026-11-25"))

    assert "30 kg is assumed" in before["assumed"][0]
    assert after["assumed"] == []
    assert (before["top_kg"], after["top_kg"]) == ("190", "175")


def test_a_retired_scale_has_no_plan(door: FlaskClient) -> None:
    read = door.get("/v1/devices/A-13/plan?on=2026-11-25")

    assert (read.status_code, read.json["code"]) == (422, "no-plan")
    assert read.json["facts"]["state"] == "retired"
