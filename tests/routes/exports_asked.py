"""An export asked over the web in every way; the worker's part is done in between."""

from collections.abc import Callable
from typing import Any

from flask.testing import FlaskClient
from sqlalchemy import Connection, Engine
from werkzeug.test import TestResponse

from api.cli.export_work import work_on_export
from api.database import unit_of_work
from tests.doors import an_id

ALL: dict[str, Any] = {"since": 0}
Answers = dict[tuple[str, str], list[TestResponse]]


class AtWork:
    """What a job at work is to the work: chunks, each in a transaction, and the progress of the last."""

    def __init__(self, engine: Engine, progress: dict[str, Any] | None = None) -> None:
        self.engine = engine
        self.progress = progress or {}

    def chunk(self, work: Callable[[Connection], dict[str, Any]]) -> None:
        """Do one chunk."""
        self.progress = unit_of_work(self.engine, work)


def make(engine: Engine, name: str) -> str:
    """Make an export as a worker would, and return the sentence that says what came of it."""
    at_work: Any = AtWork(engine)
    return work_on_export(at_work, name)


def made(client: FlaskClient, asked: dict[str, Any] | None = None) -> str:
    """Ask for an export, have it made, and return its address."""
    posted = client.post("/v1/exports", json=asked or ALL)
    make(client.application.extensions["steelyard.engine"], posted.json["file_export"])
    address: str = posted.headers["Location"]
    return address


def exports_asked(client: FlaskClient) -> Answers:
    """Ask for everything that can be asked about exports, and return the answers by operation."""
    posted = [client.post("/v1/exports", json=body) for body in (ALL, ALL | {"sites": ["QG"]}, {})]
    address = made(client)
    waiting = posted[0].headers["Location"]
    one = "/v1/exports/{export_id}"
    paths = ("record/content-0001.ndjson", "csv/comma/devices.csv", "nothing.csv")
    ranges = ({}, {"Range": "bytes=10-19"}, {"Range": "bytes=999999999-"})
    return {
        ("/v1/exports", "post"): posted,
        ("/v1/exports", "get"): [client.get("/v1/exports"), client.get("/v1/exports?site=QG")],
        (one, "get"): [client.get(address), client.get(waiting), client.get(f"/v1/exports/{an_id()}")],
        (f"{one}/archive.zip", "get"): [
            *(client.get(f"{address}/archive.zip", headers=fields) for fields in ranges),
            client.get(f"{waiting}/archive.zip"),
        ],
        (f"{one}/files/{{path}}", "get"): [
            client.get(f"{address}/files/manifest.json"),  # a part of it would be no JSON
            *(client.get(f"{address}/files/{path}", headers=fields) for path in paths for fields in ranges),
        ],
    }  # fmt: skip
