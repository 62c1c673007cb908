"""An import asked over the web in every way, from the file to its undoing; the worker's part is done in between."""

import json
from typing import Any

from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from api.cli.import_work import HereAndNow, work_on_import
from tests.doors import JSON, an_id

CSV = {"Content-Type": "text/csv"}
OLD_FILE = (
    "No.;Tag;Day;Span left (kg);Result;Note\n"
    "1;A-04;14.03.2019;100,0;OK;\n"
    "2;A-05;14.03.2019;100,2;not OK;castors\n"
    "3;A-05;15.03.2019;-;;not reached\n"
)
SPREADSHEET = "profile=old-spreadsheet"
Answers = dict[tuple[str, str], list[TestResponse]]


def work(client: FlaskClient, address: str) -> None:
    """Do what a worker would do with an import."""
    engine = client.application.extensions["steelyard.engine"]
    work_on_import(HereAndNow(engine, lambda progress: None), address.rpartition("/")[2])


def post_file(client: FlaskClient, content: str | bytes, question: str = SPREADSHEET, **headers: str) -> TestResponse:
    """Send a file."""
    told = {name.replace("_", "-"): value for name, value in headers.items()}
    return client.post(f"/v1/imports?{question}", data=content, headers=CSV | told)


def tried(client: FlaskClient, content: str | bytes = OLD_FILE, question: str = SPREADSHEET) -> str:
    """Send a file, have it tried out, and return its address."""
    address = post_file(client, content, question).headers["Location"]
    work(client, address)
    return address


def said(
    client: FlaskClient, address: str, verb: str, because: Any = "sent by mistake", **headers: str
) -> TestResponse:
    """Say a word about an import."""
    told = {name.replace("_", "-"): value for name, value in headers.items()}
    return client.post(f"{address}/{verb}", data=json.dumps({"because": because}), headers=JSON | told)


def commit(client: FlaskClient, address: str, **headers: str) -> TestResponse:
    """Commit an import as it was tried out, or as the headers say."""
    told = {name.replace("_", "-"): value for name, value in headers.items()}
    return client.post(f"{address}/commit", headers=told or {"If-Match": client.get(address).headers["ETag"]})


def imports_asked(client: FlaskClient) -> Answers:
    """Ask for everything that can be asked about imports, and return the answers by operation."""
    posted = [
        post_file(client, OLD_FILE),
        post_file(client, OLD_FILE, "profile=nothing"),
        post_file(client, b"PK\x03\x04"),
    ]
    first = posted[0].headers["Location"]
    waiting = client.get(first)
    work(client, first)
    again = [client.post(f"{first}/try"), client.post(f"{first}/try?profile=nothing")]
    work(client, first)
    found = client.get(first)
    committed = [commit(client, first, If_Match='"other"'), client.post(f"{first}/commit"), commit(client, first)]
    work(client, first)
    unbegun = tried(client)
    one = "/v1/imports/{import_id}"
    return {
        ("/v1/imports", "post"): posted,
        (one, "get"): [waiting, found, client.get(first), client.get(f"/v1/imports/{an_id()}")],
        (f"{one}/try", "post"): [*again, client.post(f"{first}/try")],
        (f"{one}/commit", "post"): committed,
        (f"{one}/give-up", "post"): [said(client, unbegun, "give-up"), said(client, unbegun, "give-up", 7)],
        (f"{one}/report.csv", "get"): [client.get(f"{first}/report.csv"), client.get(f"{unbegun}/report.csv")],
        (f"{one}/report.ndjson", "get"): [client.get(f"{first}/report.ndjson")],
        (f"{one}/report.html", "get"): [client.get(f"{first}/report.html")],
        (f"{one}/undo", "post"): [said(client, first, "undo"), said(client, first, "undo")],
        ("/v1/imports", "get"): [client.get("/v1/imports")],
        ("/v1/imports/template.csv", "get"): templates(client, "template.csv"),
        ("/v1/imports/schema.json", "get"): templates(client, "schema.json"),
        ("/v1/imports/profile.json", "get"): templates(client, "profile.json"),
    }


def templates(client: FlaskClient, name: str) -> list[TestResponse]:
    """Ask for what is published of a template."""
    return [client.get(f"/v1/imports/{name}{asked}") for asked in ("", "?layout=visit", "?layout=page")]
