"""What the wards of the invented network told between the visits: in the past, taken by the service, closed as it should."""

from datetime import date, datetime
from uuid import UUID

import pytest
from flask.testing import FlaskClient

from api.demo.between_visits import told_between
from api.demo.history import visits
from tests.filled_record import NOON, TODAY


@pytest.fixture
def template(registered: str) -> str:
    """The record begins with the network's register."""
    return registered


def test_everything_was_told_in_the_past_and_in_order_of_time() -> None:
    moments = [datetime.fromisoformat(body["happened_at"]) for _, body in told_between(TODAY)]

    assert len(moments) == 6
    assert moments == sorted(moments)
    assert moments[-1] < NOON


def test_the_same_day_and_seed_give_the_same_and_ids_are_version_7() -> None:
    told = list(told_between(TODAY))

    assert told == list(told_between(TODAY))
    assert told != list(told_between(date(2026, 11, 26)))
    assert {UUID(path.rpartition("/")[2]).version for path, _ in told} == {7}


def test_the_old_trouble_is_closed_by_the_visits_and_the_new_one_is_open(
    client: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    for module in ("calibrations", "events", "receiving"):
        monkeypatch.setattr(f"api.routes.{module}.now", lambda: NOON)
    concerned = {body["device"] for _, body in told_between(TODAY)}
    for calibration, visit in visits(TODAY):
        if visit["device"] in concerned:
            assert client.put(f"/v1/calibrations/{calibration}", json=visit).status_code == 201
    for path, body in told_between(TODAY):
        answer = client.put(path, json=body)
        assert (answer.status_code, answer.json["flags"]) == (201, []), answer.json

    found = client.get(f"/v1/events?on={TODAY}").json["items"]

    assert [(e["device"], e["what"]) for e in found if e["open"]] == [("B-02", "dropped")]
    closed = {e["device"]: e["closed"]["closed_by"] for e in found if e.get("closed")}
    assert closed == {"A-11": "a calibration", "G-03": "a calibration"}
    assert [e["verdict"] for e in found if e["kind"] == "check"] == ["pass", "pass", "pass"]
