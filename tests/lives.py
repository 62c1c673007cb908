"""How a person acts on a record in these tests, and visits that have something to act on."""

import json
from typing import Any

from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from tests.doors import JSON, an_id, example, reading_of, send

REVIEWER = "S-01"
Body = dict[str, Any]


def act(client: FlaskClient, calibration: str, what: str, body: Any, by: str = REVIEWER) -> TestResponse:
    """Act on a record as a person; bytes are sent as they are."""
    data = body if isinstance(body, bytes) else json.dumps(body).encode()
    return client.post(f"/v1/calibrations/{calibration}/{what}", data=data, headers=JSON | {"Steelyard-By": by})


def kept(client: FlaskClient, calibration: str, question: str = "") -> Body:
    """Return a record as it is read."""
    found: Body = client.get(f"/v1/calibrations/{calibration}{question}").json
    return found


def release(client: FlaskClient, calibration: str, by: str = REVIEWER) -> TestResponse:
    """Release a record as it is now, with a sentence for each flag."""
    now = kept(client, calibration)
    answers = [
        {"code": code, "words": f"Looked at: {code}."} for code in dict.fromkeys(f["code"] for f in now["flags"])
    ]
    return act(client, calibration, "release", {**seen(now), "answers": answers}, by)


def seen(record: Body) -> Body:
    """Return what a release says of what was looked at."""
    return {"digest": record["digest"], "judgement": record["judgement"]}


def amendment(record: Body, content: Body, because: str = "A reading was typed wrongly.") -> Body:
    """Return an amendment of a record as it is now."""
    return {"supersedes": record["digest"], "because": because, "content": content}


def typed_from_paper() -> Body:
    """Return a visit that passes, typed from a sheet that nobody compared: it waits for a person."""
    return example() | {"taken_down": {"read_by": "T-01", "typed_by": "T-02", "from_sheet": f"sha256:{64 * 'a'}"}}


def failing() -> Body:
    """Return the same visit with a reading at 150 kg far out of tolerance."""
    body = example()
    reading_of(body, "increasing", load="150")["indication"]["value"] = "150.9"
    return body


def a_visit(client: FlaskClient, body: Body | None = None) -> str:
    """Send a visit and return its id; it is flagged where no other is given."""
    calibration = an_id()
    assert send(client, body or typed_from_paper(), calibration).status_code == 201
    return calibration


def amended(client: FlaskClient, calibration: str, content: Body, by: str = REVIEWER) -> TestResponse:
    """Amend a record as it is now."""
    now = kept(client, calibration)
    return act(client, calibration, "amendments", amendment({"digest": f"sha256:{64 * '0'}"} | now, content), by)
