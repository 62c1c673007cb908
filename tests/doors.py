"""How a field app speaks to the service in these tests, and how a pointer in its answer is followed."""

import json
import uuid
from copy import deepcopy
from datetime import datetime, timedelta
from typing import Any
from urllib.parse import unquote

from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from tests.filled_record import EXAMPLES

JSON = {"Content-Type": "application/json"}


def example_bytes(name: str = "calibration-pass") -> bytes:
    """Return one of the published example bodies."""
    return (EXAMPLES / f"{name}.json").read_bytes()


def example(name: str = "calibration-pass") -> dict[str, Any]:
    """Return one of the published example bodies, parsed, to be changed."""
    found: dict[str, Any] = json.loads(example_bytes(name))
    return found


def an_id() -> str:
    """Return an id as an app makes one."""
    return str(uuid.uuid4())


def send(client: FlaskClient, body: Any, calibration: str | None = None, **headers: str) -> TestResponse:
    """Send a calibration, under an id of its own where none is given; bytes are sent as they are."""
    told = {name.replace("_", "-"): value for name, value in headers.items()}
    data = body if isinstance(body, bytes) else json.dumps(body).encode()
    return client.put(f"/v1/calibrations/{calibration or an_id()}", data=data, headers=JSON | told)


def change(client: FlaskClient, address: str, valid_from: str, record: Any, **headers: str) -> TestResponse:
    """Ask for a change of the register; where nothing else is said, of whatever is there."""
    answer = ask_change(client, address, valid_from, record, **headers)
    if answer.status_code == 428:
        return ask_change(client, address, valid_from, record, **headers, If_Match="*")
    return answer


def ask_change(client: FlaskClient, address: str, valid_from: str, record: Any, **headers: str) -> TestResponse:
    """Ask for a change of the register, made against what the headers say."""
    told = {name.replace("_", "-"): value for name, value in headers.items()}
    body = json.dumps({"valid_from": valid_from, "record": record}).encode()
    return client.put(f"/v1/{address}", data=body, headers=JSON | told)


def reading_of(body: dict[str, Any], test: str, phase: str = "as_found", load: str | None = None) -> dict[str, Any]:
    """Return the first reading of a test in a body, at a load where one is given."""
    readings: list[dict[str, Any]] = body[phase]["readings"]
    return next(r for r in readings if r["test"] == test and load in (None, r.get("load", {}).get("value")))


def resolved(document: Any, pointer: str) -> Any:
    """Return what a JSON pointer in a URI fragment points at (RFC 6901 sections 4 and 6); KeyError where nothing."""
    assert pointer.startswith("#"), pointer
    found = document
    for step in unquote(pointer[1:]).split("/")[1:] if pointer != "#" else []:
        name = step.replace("~1", "/").replace("~0", "~")
        if isinstance(found, list):
            if not name.isdigit() or int(name) >= len(found):
                raise KeyError(pointer)
            found = found[int(name)]
        else:
            found = found[name]
    return found


def later(body: dict[str, Any], hours: int) -> dict[str, Any]:
    """Return a visit with the same readings so many hours later, or earlier: another visit, no double of it."""
    moved = {
        name: (datetime.fromisoformat(moment) + timedelta(hours=hours)).isoformat()
        for name, moment in body["performed"].items()
    }
    return body | {"performed": moved}


def without(body: dict[str, Any], *names: str) -> dict[str, Any]:
    """Return a copy of a body without some of its fields."""
    return {name: deepcopy(value) for name, value in body.items() if name not in names}
