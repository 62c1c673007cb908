"""Imports over the web: a file is posted, tried out by a worker, committed against its ETag, and answered for."""

import gzip
import json
from typing import Any

import pytest
from flask.testing import FlaskClient

from api.cli.import_records import import_job
from api.cli.jobs import take_one
from api.settings import Settings
from tests.doors import JSON, an_id, change
from tests.filled_record import TODAY, rows
from tests.imports.importing import A_PROFILE
from tests.routes.imports_asked import OLD_FILE, commit, post_file, said, tried, work


def state_of(client: FlaskClient, address: str) -> dict[str, Any]:
    found: dict[str, Any] = client.get(address).json
    return found


def test_a_file_is_received_at_once_and_tried_out_by_a_job(client: FlaskClient, settings: Settings) -> None:
    posted = post_file(client, OLD_FILE, "profile=old-spreadsheet&name=sheet.csv")
    address = posted.headers["Location"]
    job = client.get(f"/v1/jobs/{posted.json['job']}").json

    taken = take_one(client.application.extensions["steelyard.engine"], settings)

    assert posted.status_code == 202
    assert (posted.json["state"], posted.json["name"], posted.headers["Retry-After"]) == ("received", "sheet.csv", "2")
    assert taken is not None
    assert (job["kind"], taken.job) == ("import", job["job"])
    found = state_of(client, address)
    assert (found["state"], found["tried"]["visits"]["noted"], found["tried"]["visits"]["rejected"]) == (
        "tried out",
        3,
        0,
    )
    assert client.get(f"/v1/jobs/{job['job']}").json["answer"] == "Tried out: nothing is kept until it is committed."


def test_an_empty_file_is_refused_at_once(client: FlaskClient, settings: Settings) -> None:
    post_file(client, OLD_FILE, "profile=old-spreadsheet")
    before = rows(settings)

    answers = [post_file(client, body, "profile=old-spreadsheet") for body in (b"", gzip.compress(b""))]

    assert [(a.status_code, a.json["code"], a.json["facts"]["fault"]) for a in answers] == [
        (422, "file-refused", "file-empty")
    ] * 2
    assert rows(settings) == before


def test_the_worker_finds_the_handler_of_imports_by_its_kind() -> None:
    from importlib.metadata import entry_points

    (point,) = entry_points(group="steelyard.jobs", name="import")

    assert point.load() is import_job


def test_what_was_tried_out_is_committed_against_its_etag(client: FlaskClient) -> None:
    address = tried(client)

    without, stale, right = (
        client.post(f"{address}/commit"),
        commit(client, address, If_Match='"x"'),
        commit(client, address),
    )
    work(client, address)

    assert [a.status_code for a in (without, stale, right)] == [428, 412, 202]
    assert (without.json["code"], stale.json["code"]) == ("precondition-required", "tried-otherwise")
    found = state_of(client, address)
    assert (found["state"], found["because"]) == ("done", "3 new records, 0 on record before, 0 refused.")


def test_a_commit_after_the_profile_was_changed_needs_another_trial(client: FlaskClient) -> None:
    address = tried(client)
    newer = client.get("/v1/import-profiles/old-spreadsheet").json["record"] | {"nothing": ["-"]}
    put = change(client, "import-profiles/old-spreadsheet", TODAY.isoformat(), newer)

    refused = commit(client, address)
    again = client.post(f"{address}/try")
    work(client, address)

    assert put.status_code == 200
    assert (refused.status_code, again.status_code) == (412, 202)
    assert state_of(client, address)["profile_revision"] == 2
    assert commit(client, address).status_code == 202


def test_a_file_that_leaves_something_open_is_answered_with_questions(client: FlaskClient) -> None:
    open_ = {name: value for name, value in A_PROFILE.items() if name not in ("decimal", "delimiter")}
    client.put(
        "/v1/import-profiles/open", json={"valid_from": "2026-01-01", "record": open_ | {"code": "open"}}, headers=JSON
    )
    address = tried(client, "Tag;Day;Found;Left;Note\nA-04;2024-03-14;100.0;;\n", "profile=open")

    found = state_of(client, address)

    assert found["state"] == "profiled"
    assert [question["code"] for question in found["questions"]] == ["delimiter"]
    assert "etag" not in found
    assert commit(client, address, If_Match='"x"').status_code == 409


def test_a_packed_file_is_taken_and_one_that_swells_is_not(client: FlaskClient) -> None:
    packed = post_file(client, gzip.compress(OLD_FILE.encode()))
    swelling = post_file(client, gzip.compress(b";" * 3_000_000))

    assert (packed.status_code, packed.json["file_bytes"]) == (202, len(OLD_FILE))
    assert (swelling.status_code, swelling.json["code"]) == (422, "file-refused")


def test_a_file_larger_than_a_calibration_may_be_is_taken(client: FlaskClient) -> None:
    rows_ = "".join(
        f"{n};A-04;14.03.2019;100,0;OK;a long note about nothing at all, number {n}\n" for n in range(45_000)
    )
    content = OLD_FILE + rows_

    posted = post_file(client, content)

    assert len(content) > 2 * 1024 * 1024
    assert (posted.status_code, posted.json["file_bytes"]) == (202, len(content))


def test_nothing_is_received_without_a_profile(client: FlaskClient, settings: Settings) -> None:
    before = rows(settings)

    refused = post_file(client, OLD_FILE, "profile=nobody")

    assert (refused.status_code, refused.json["code"]) == (404, "not-on-record")
    assert rows(settings) == before


@pytest.mark.parametrize("question", ["profile=old-spreadsheet&mode=some", "profile=old-spreadsheet&reject_limit=-1"])
def test_how_a_file_is_to_be_imported_is_said_in_the_words_of_the_contract(client: FlaskClient, question: str) -> None:
    assert post_file(client, OLD_FILE, question).status_code == 400


def test_refused_rows_keep_a_whole_file_out_and_are_reported(client: FlaskClient) -> None:
    address = tried(client, OLD_FILE.replace("100,2", "100.2"))

    refused = commit(client, address)

    assert (refused.status_code, refused.json["code"]) == (409, "too-many-rejected")
    report = client.get(f"{address}/report.csv")
    assert report.mimetype == "text/csv"
    assert "3;rejected;number-decimal-sign;" in report.get_data(as_text=True)
    lines = [json.loads(line) for line in client.get(f"{address}/report.ndjson").get_data(as_text=True).splitlines()]
    assert [line["status"] for line in lines] == ["skipped", "noted", "rejected", "noted"]


def test_the_report_page_may_run_nothing(client: FlaskClient) -> None:
    page = client.get(f"{tried(client)}/report.html")

    assert page.mimetype == "text/html"
    assert "default-src 'none'" in page.headers["Content-Security-Policy"]
    assert "<script" not in page.get_data(as_text=True)


def test_an_import_is_given_up_or_undone_with_a_reason(client: FlaskClient) -> None:
    unbegun, done = tried(client), tried(client)
    commit(client, done)
    work(client, done)

    given_up, undone = said(client, unbegun, "give-up"), said(client, done, "undo")
    again, reasonless = said(client, done, "undo"), said(client, done, "undo", "")

    assert (given_up.json["state"], undone.json["state"], undone.json["because"]) == (
        "given up",
        "undone",
        "sent by mistake",
    )
    assert (again.status_code, reasonless.status_code) == (409, 422)
    standing = {item["standing"] for item in client.get("/v1/devices/A-04/history").json["items"]}
    assert standing == {"void"}


def test_imports_are_listed_and_one_that_there_is_not_is_told(client: FlaskClient) -> None:
    address = tried(client)

    listed = client.get("/v1/imports").json["items"]

    assert [item["file_import"] for item in listed] == [address.rpartition("/")[2]]
    assert client.get(f"/v1/imports/{an_id()}").status_code == 404


def test_the_history_of_a_scale_says_what_was_imported(client: FlaskClient) -> None:
    address = tried(client)
    commit(client, address)
    work(client, address)

    (found,) = client.get("/v1/devices/A-04/history").json["items"]

    assert found["imported"]["file_import"] == address.rpartition("/")[2]
    assert found["imported"]["partial"] is True
    assert "as found" in found["imported"]["lacks"]
    assert found["content"]["app_verdict"] == {"as_left": "pass"}
    assert "certificate" not in found
