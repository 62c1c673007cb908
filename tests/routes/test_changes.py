"""The log as a feed: in order of commit, without gaps, to be gone on with from anywhere."""

import threading
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient

from api.queries import log
from api.settings import Settings
from tests.doors import an_id, change, example, send
from tests.keyed import a_key, client_with, keyed_app
from tests.routes.test_lists import A_WARD, linked


def followed(client: FlaskClient, address: str) -> list[Any]:
    """Every entry up to the end, by the Link field."""
    found: list[Any] = []
    while True:
        answer = client.get(address)
        assert answer.status_code == 200, answer.get_data(as_text=True)
        found += answer.json["items"]
        address = linked(answer)["next"]
        assert f"after={answer.json['next_after']}" in address
        if answer.json["at_end"]:
            return found


def head(client: FlaskClient) -> int:
    number: int = client.get("/v1/about").json["log_number"]
    return number


@pytest.mark.parametrize("limit", [1, 7, 100, 1000])
def test_parts_of_any_size_are_all_entries_in_order_without_gaps(client: FlaskClient, limit: int) -> None:
    entries = followed(client, f"/v1/changes?limit={limit}")

    assert [entry["number"] for entry in entries] == list(range(1, head(client) + 1))
    assert all(later["previous"] == entry["hash"] for entry, later in zip(entries, entries[1:], strict=False))


def test_at_the_end_the_same_number_is_asked_after_until_something_is_written(client: FlaskClient) -> None:
    number = head(client)

    answer = client.get(f"/v1/changes?after={number}")
    assert (answer.json["items"], answer.json["next_after"], answer.json["at_end"]) == ([], number, True)
    tag, following = answer.headers["ETag"], linked(answer)["next"]
    assert client.get(following, headers={"If-None-Match": tag}).status_code == 304

    send(client, example(), an_id())
    answer = client.get(following, headers={"If-None-Match": tag})
    assert (answer.status_code, [e["number"] for e in answer.json["items"]]) == (200, [number + 1])
    assert linked(answer)["first"] == "/v1/changes"


def test_what_was_read_to_another_end_is_refused_when_the_log_is_shorter(client: FlaskClient) -> None:
    number = head(client)

    answer = client.get(f"/v1/changes?after={number + 1}")

    assert (answer.status_code, answer.json["code"]) == (409, "log-behind")
    assert answer.json["facts"] == {"head": str(number), "after": str(number + 1)}


def test_what_was_done_to_one_thing_is_read_alone(client: FlaskClient) -> None:
    change(client, "wards/QG-PARTS", "2026-01-01", A_WARD)
    change(client, "wards/QG-PARTS", "2026-02-01", A_WARD | {"name": "Other"})

    entries = followed(client, "/v1/changes?touching=ward&key=QG-PARTS&limit=1")

    assert [entry["number"] for entry in entries] == [head(client) - 1, head(client)]
    assert followed(client, "/v1/changes?touching=calibration") == []


def test_who_sees_one_site_is_told_what_touched_it_and_goes_on_past_the_rest(
    settings: Settings, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(log, "TOGETHER", 3)
    monkeypatch.setattr(log, "MOST_LOOKED_AT", 6)
    with keyed_app(settings) as app:
        engine = app.extensions["steelyard.engine"]
        everything = client_with(app, a_key(engine, "read", holder="ALL"))
        of_hm = client_with(app, a_key(engine, "read", holder="HM", sites=("HM",)))
        told = followed(everything, "/v1/changes?limit=10")
        seen = followed(of_hm, "/v1/changes?limit=2")
        everybodys = (
            "model",
            "weight",
            "weight set",
            "weight certificate",
            "technician",
            "policy",
            "house rule",
            "import profile",
        )

        def is_told(touched: Any) -> bool:
            return touched["kind"] in everybodys or (touched["kind"], touched["key"]) == ("site", "HM")

        assert seen == [entry for entry in told if any(map(is_told, entry["touched"]))]
        assert 0 < len(seen) < len(told)
        tags = {client.get("/v1/changes").headers["ETag"] for client in (everything, of_hm)}
        assert len(tags) == 2


def test_a_reader_misses_nothing_that_several_writers_commit(app: Flask) -> None:
    """Entries are numbered as the last thing before the commit: a number that is seen is never followed by a lower one."""
    start, done, seen = head(app.test_client()), threading.Event(), []

    def write(number: int) -> None:
        client = app.test_client()
        for turn in range(12):
            code = f"QG-{number}-{turn}"
            assert change(client, f"wards/{code}", "2026-01-01", A_WARD | {"code": code}).status_code == 201

    def read() -> None:
        client, after = app.test_client(), start
        while True:
            ended = done.is_set()
            answer = client.get(f"/v1/changes?after={after}&limit=5").json
            seen.extend(entry["number"] for entry in answer["items"])
            after = answer["next_after"]
            if ended and answer["at_end"]:
                return

    reader = threading.Thread(target=read)
    writers = [threading.Thread(target=write, args=(number,)) for number in range(3)]
    for thread in (reader, *writers):
        thread.start()
    for thread in writers:
        thread.join()
    done.set()
    reader.join()

    assert seen == list(range(start + 1, start + 37))
