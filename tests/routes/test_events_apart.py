"""Who may tell, read and close what: scopes, persons, and the sites of a key, for events of devices."""

from collections.abc import Iterator
from typing import Any

import pytest
from flask.testing import FlaskClient
from sqlalchemy import Engine

from api.routes.event_examples import CHECK, MOVE, REPORT
from api.settings import Settings
from tests.doors import an_id
from tests.keyed import a_key, bearing, keyed_app

ON = "2026-11-25"
AT_HM: dict[str, Any] = REPORT | {"site": "HM"}


@pytest.fixture
def keyed(settings: Settings) -> Iterator[tuple[FlaskClient, Engine]]:
    """Give a client on a service that asks for keys, and an engine to make them."""
    with keyed_app(settings) as app:
        yield app.test_client(), app.extensions["steelyard.engine"]


def put(client: FlaskClient, body: dict[str, Any], key: dict[str, str], what: str = "reports") -> Any:
    return client.put(f"/v1/{what}/{an_id()}", json=body, headers=key)


def test_a_key_of_a_ward_tells_and_reads_nothing(keyed: tuple[FlaskClient, Engine]) -> None:
    client, engine = keyed
    ward = bearing(a_key(engine, "report", sites=("QG",)))

    assert put(client, REPORT, ward).status_code == 201
    assert put(client, CHECK, ward, "checks").status_code == 201
    assert client.get("/v1/events", headers=ward).json["code"] == "scope-missing"
    assert put(client, AT_HM, ward).json["code"] == "site-not-in-key"


def test_what_another_site_told_is_out_of_sight_and_counts_all_the_same(keyed: tuple[FlaskClient, Engine]) -> None:
    client, engine = keyed
    at_hm = bearing(a_key(engine, "report", sites=("HM",), holder="HM-WARD"))
    reads_qg = bearing(a_key(engine, "read", sites=("QG",), holder="QG-DESK"))

    told = put(client, AT_HM, at_hm).json

    assert (told["device_on_register"], told["flags"][0]["code"]) == (False, "unknown-device")
    assert client.get(f"/v1/events/{told['event']}", headers=reads_qg).json["code"] == "not-on-record"
    assert client.get("/v1/events", headers=reads_qg).json["items"] == []
    assert client.get(f"/v1/devices/A-04/events?on={ON}", headers=reads_qg).json["items"] == []
    use = client.get(f"/v1/devices/A-04/use?on={ON}", headers=reads_qg).json
    assert "dropped" in {why["code"] for why in use["why"]}


def test_closing_and_moving_need_a_person_of_that_site(keyed: tuple[FlaskClient, Engine]) -> None:
    client, engine = keyed
    unit = a_key(engine, "report", "amend")
    event = put(client, REPORT, bearing(unit)).json["event"]
    at_hm = a_key(engine, "amend", holder="T-03", held_by="person", sites=("HM",))
    at_qg = a_key(engine, "amend", holder="T-01", held_by="person", sites=("QG",))
    close, move = f"/v1/events/{event}/close", "/v1/devices/A-04/moves"

    def asked(address: str, body: dict[str, Any], person: str | None) -> tuple[int, str | None]:
        answer = client.post(address, json=body, headers=bearing(unit, person))
        return answer.status_code, answer.json.get("code")

    words = {"words": "Nothing bent."}
    assert asked(close, words, None) == (403, "person-missing")
    assert asked(close, words, at_hm) == (404, "not-on-record")
    assert asked(move, MOVE, None) == (403, "person-missing")
    assert asked(move, MOVE, at_hm) == (403, "site-not-in-key")
    assert asked(move, MOVE | {"site": "HM", "ward": "HM-MED"}, at_hm) == (404, "not-on-record")
    assert asked(move, MOVE | {"site": "HM", "ward": "HM-MED"}, at_qg) == (403, "site-not-in-key")
    assert asked(close, words, at_qg) == (200, None)
    assert asked(move, MOVE, at_qg)[0] == 201
