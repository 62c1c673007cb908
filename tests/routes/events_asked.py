"""The doors of events of a device, each asked with answers of several statuses, for the contract to be held against."""

from typing import Any

from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from api.routes.event_examples import CHECK, LIMIT, MOVE, REPAIR, REPORT, STATE
from tests.doors import an_id

BY = {"Steelyard-By": "S-01"}


def events_asked(client: FlaskClient) -> dict[tuple[str, str], list[TestResponse]]:
    """Return the answers by path and method."""
    event = an_id()
    reports = [
        client.put(f"/v1/reports/{event}", json=body, headers=sent)
        for body in (REPORT, REPORT, REPORT | {"words": "It only tipped over."}, {})
        for sent in ({}, {"Steelyard-Sent-At": "2026-11-25T09:00:00Z"})
    ]
    reports.append(
        client.put(f"/v1/reports/{an_id()}", json=REPORT | {"device": "Z-99", "words": "Mrs Smith was on it."})
    )
    of_device = [client.post("/v1/devices/A-04/reports", json=REPORT | {"id": i}) for i in (event, an_id(), "x")]
    close = f"/v1/events/{event}/close"
    closed = [client.post(close, json={"words": words}, headers=BY) for words in ("In order.", "In order.", "Bent.")]
    checks = [client.put(f"/v1/checks/{i}", json=CHECK | more) for i, more in _checks(an_id())]
    acts = {"moves": MOVE, "states": STATE, "limits": LIMIT, "repairs": REPAIR}
    return {
        **{(f"/v1/devices/{{tag}}/{what}", "post"): _told(client, what, body) for what, body in acts.items()},
        ("/v1/checks/{event_id}", "put"): checks,
        ("/v1/reports/{event_id}", "put"): reports,
        ("/v1/devices/{tag}/reports", "post"): of_device,
        ("/v1/events/{event_id}/close", "post"): [
            *closed,
            client.post(close, json={}),
            client.post(close, json={"words": "Bent."}),
        ],
        ("/v1/events", "get"): [client.get(f"/v1/events{question}") for question in ("", "?open=true", "?open=x")],
        ("/v1/events/{event_id}", "get"): [client.get(f"/v1/events/{i}") for i in (event, an_id())],
        ("/v1/devices/{tag}/events", "get"): [
            client.get(f"/v1/devices/{tag}/events") for tag in ("A-04", "Z-99", "Z-1")
        ],
    }


def _checks(event: str) -> list[tuple[str, dict[str, Any]]]:
    far_off, pieces = {"indication": {"value": "25.0", "unit": "kg"}}, {"pieces": ["FS1-20-01"]}
    told = [(event, {}), (event, {}), (event, far_off), (an_id(), far_off), (an_id(), {"device": "Z-99"})]
    return [*told, (an_id(), pieces), (an_id(), {"indication": {"value": "44.1", "unit": "[lb_av]"}})]


def _told(client: FlaskClient, what: str, body: dict[str, Any]) -> list[TestResponse]:
    asked = [
        ("A-01", body),
        ("A-01", body),
        ("A-01", body | {"happened_at": "2026-11-23T08:00:00Z"}),
        ("Z-99", body | {"id": an_id()}),
    ]
    asked += [("A-01", {}), ("A-01", body | {"id": an_id(), "happened_at": "2027-11-23T08:00:00Z"})]
    answers = [client.post(f"/v1/devices/{tag}/{what}", json=sent, headers=BY) for tag, sent in asked]
    assert [answer.status_code for answer in answers] == [201, 200, 409, 404, 422, 422]
    return answers
