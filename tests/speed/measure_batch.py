"""A batch of 500 calibrations of 30 readings, judged and committed with synchronous=FULL: at most 1.5 s.

Through the application, as lines. The same many are sent one request each between the batches, in the same process and file:
the ratio holds also where the machine is busy.
"""

import itertools
import tempfile
import uuid
from pathlib import Path

import click
from flask.testing import FlaskClient

from api.app import create_app
from tests.speed.a_calibration import body_of_30_readings, middle, record_with_the_network, row, seconds_of

ITEMS, RUNS = 500, 5


VISITS = itertools.count()


def bodies() -> list[tuple[str, bytes]]:
    """Return 500 calibrations, each with an id in its body and a time of its own."""
    ids = [str(uuid.uuid4()) for _ in range(ITEMS)]
    return [(one, body_of_30_readings(next(VISITS), id=one)) for one in ids]


def batch(client: FlaskClient) -> float:
    """Return how long a batch of new calibrations takes, request to answer."""
    body = b"\n".join(body for _, body in bodies())
    answers = []
    seconds = seconds_of(
        lambda: answers.append(
            client.post("/v1/calibrations:batch", data=body, headers={"Content-Type": "application/x-ndjson"})
        )
    )
    assert answers[0].json["summary"]["created"] == ITEMS, answers[0].json["summary"]
    return seconds


def one_by_one(client: FlaskClient) -> float:
    """Return how long the same many take as a request each."""
    put = [(f"/v1/calibrations/{one}", body) for one, body in bodies()]
    sent = {"Content-Type": "application/json"}
    return seconds_of(lambda: [client.put(address, data=body, headers=sent) for address, body in put])


def measure() -> str:
    """Return the row of the table."""
    batches, singles = [], []
    with tempfile.TemporaryDirectory(dir=Path.cwd()) as folder:
        client = create_app(record_with_the_network(Path(folder))).test_client()
        batch(client)  # the first reads the register
        for _ in range(RUNS):
            batches.append(batch(client))
            singles.append(one_by_one(client))
    ratio = middle([a / b for a, b in zip(batches, singles, strict=True)])
    return row(
        "a batch of 500 calibrations of 30 readings, s",
        "1.5",
        f"{middle(batches):.2f}",
        f"median of {RUNS} through the application, SQLite, FULL; {min(batches):.2f} at best",
        f"{ratio:.2f} of one request each ({middle(singles):.2f} s)",
    )


if __name__ == "__main__":
    click.echo(measure())
