"""Everything for going offline, over the web: what it holds is tested in `tests/record/test_bundle.py`."""

import json
from pathlib import Path

import orjson
import pytest
from flask.testing import FlaskClient

from api.settings import Settings
from tests.cli.conftest import runner_on
from tests.doors import an_id, change, example, send
from tests.filled_record import TODAY
from tests.keyed import a_key, client_with, keyed_app
from tests.weights_told import mishap, tell

ADDRESS = f"/v1/bundle?site=QG&set=FS-1&on={TODAY.isoformat()}"


def test_who_has_it_already_is_told_so_until_something_in_it_changes(client: FlaskClient) -> None:
    first = client.get(ADDRESS)
    known = {"If-None-Match": first.headers["ETag"]}

    assert client.get(ADDRESS, headers=known).status_code == 304
    assert client.head(ADDRESS).headers["ETag"] == first.headers["ETag"]
    elsewhere = client.get("/v1/wards?site=HM&on=2026-11-25").json["items"][0]
    change(client, f"wards/{elsewhere['key']}", "2026-01-01", elsewhere["record"] | {"call_number": "9"})
    assert client.get(ADDRESS, headers=known).status_code == 304  # the log moved on, what is in it did not
    today = {"start": "2026-11-25T08:00:00-07:00", "end": "2026-11-25T08:30:00-07:00"}
    send(client, example() | {"performed": today}, an_id())
    again = client.get(ADDRESS, headers=known)
    assert again.status_code == 200
    assert again.headers["ETag"] != first.headers["ETag"]
    assert again.json["log_number"] == client.get("/v1/about").json["log_number"]


def test_a_piece_that_was_dropped_is_told_to_be_held_and_is_in_no_plan(client: FlaskClient) -> None:
    before = client.get(ADDRESS)

    assert tell(client, mishap()).status_code == 201

    after = client.get(ADDRESS, headers={"If-None-Match": before.headers["ETag"]})
    assert after.status_code == 200
    assert {w["code"]: w["held"] for w in after.json["weights"] if "held" in w} == {
        "FS1-10": "It was dropped on 2026-11-24."
    }
    assert after.json["log_number"] == client.get("/v1/about").json["log_number"]
    assert "FS1-10" not in json.dumps([scale["plan"]["pieces"] for scale in after.json["devices"]])


def test_what_came_since_is_read_from_the_changes_after_it(client: FlaskClient) -> None:
    number = client.get(ADDRESS).json["log_number"]
    change(client, "wards/QG-CDU", "2026-01-01", client.get("/v1/wards/QG-CDU").json["record"] | {"call_number": "9"})

    touched = [t["key"] for e in client.get(f"/v1/changes?after={number}").json["items"] for t in e["touched"]]

    assert "QG-CDU" in touched


def test_every_scale_has_a_plan_with_a_tolerance_at_each_load_or_what_stops_it(client: FlaskClient) -> None:
    found = client.get(ADDRESS).json

    assert found["devices"]
    for scale in found["devices"]:
        loads = [step for step in scale["plan"]["steps"] if "tolerance" in step]
        assert loads or scale["plan"]["stops"], scale["device"]
        plan = client.get(f"/v1/devices/{scale['device']}/plan?set=FS-1&on={TODAY.isoformat()}").json
        assert (scale["plan"], scale["plan_digest"]) == (plan["plan"], plan["digest"])


def test_which_site_is_that_of_the_key_where_it_is_for_one_alone(settings: Settings) -> None:
    with keyed_app(settings) as app:
        engine = app.extensions["steelyard.engine"]
        of_one, of_two, of_all = (
            client_with(app, a_key(engine, "read", holder=f"APP-{number}", sites=sites))
            for number, sites in enumerate((("HM",), ("HM", "QG"), None))
        )

        assert of_one.get("/v1/bundle").json["site"]["code"] == "HM"
        for client in (of_two, of_all):
            answer = client.get("/v1/bundle")
            assert (answer.status_code, answer.json["code"]) == (400, "site-not-named")
        assert of_one.get("/v1/bundle?site=QG").json["code"] == "not-on-record"
        tags = {client.get("/v1/bundle?site=HM").headers["ETag"] for client in (of_one, of_all)}
        assert len(tags) == 1


@pytest.mark.parametrize(
    "question", ["site=NOWHERE", "site=QG&ward=NOWHERE", "site=QG&set=NONE", "site=QG&technician=NONE"]
)
def test_what_is_not_on_the_register_is_refused(door: FlaskClient, question: str) -> None:
    assert door.get(f"/v1/bundle?{question}").json["code"] == "not-on-record"


def test_the_command_writes_what_the_service_answers(client: FlaskClient, settings: Settings, tmp_path: Path) -> None:
    file = tmp_path / "qg.json"

    said = runner_on(settings)("bundle", "QG", "--set", "FS-1", "--on", TODAY.isoformat(), "--to", str(file))

    assert (said.exit_code, orjson.loads(file.read_bytes())) == (0, client.get(ADDRESS).json)
    assert file.read_bytes() == client.get(ADDRESS).data
    assert f"{len(json.loads(file.read_bytes())['devices'])} scales" in said.output


def test_the_command_says_what_is_not_there(settings: Settings) -> None:
    said = runner_on(settings)("bundle", "NOWHERE")

    assert said.exit_code == 1
    assert "NOWHERE" in said.output
