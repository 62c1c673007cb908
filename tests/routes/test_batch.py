"""A batch of calibrations: each for itself in the order sent, or all or none; and never a batch that was cut unseen.

207 for each, also where all fail; one bad line stops no other; all or nothing otherwise (the service's own contract).
"""

import hashlib
import itertools
import json
from typing import Any

import pytest
from flask.testing import FlaskClient
from sqlalchemy.exc import OperationalError
from werkzeug.test import TestResponse

from api.routes import batch
from api.settings import Settings
from tests.doors import an_id, example, later, resolved, send, without
from tests.filled_record import rows

LINES = {"Content-Type": "application/x-ndjson"}
END = b'{"end":true,"count":%d}\n'


HOURS = itertools.count(0, -1)


def visit(**fields: Any) -> dict[str, Any]:
    """A visit at a time of its own."""
    return later(example(), next(HOURS)) | {"id": an_id()} | fields


def lines(*visits: Any) -> bytes:
    return b"".join((v if isinstance(v, bytes) else json.dumps(v).encode()) + b"\n" for v in visits)


def as_lines(client: FlaskClient, body: bytes, mode: str = "each", **more: Any) -> TestResponse:
    return client.post(f"/v1/calibrations:batch?mode={mode}", data=body, headers=LINES, **more)


def statuses(answer: TestResponse) -> list[int]:
    return [result["status"] for result in answer.json["results"]]


def test_each_is_answered_in_the_order_sent_and_one_that_is_wrong_stops_no_other(client: FlaskClient) -> None:
    known, other = visit(), visit()
    send(client, known, known["id"])
    send(client, other, other["id"])
    sent = [
        visit(), known, other | {"purpose": "audit"}, b'{"half": ', visit(purpose="for fun"), visit(device_revision=7),
        visit(schema="calibration/2"), without(visit(), "id"), b"[]", visit(remarks="1e5", colour=1), b'{"a":1e5}', visit(),
    ]  # fmt: skip

    answer = as_lines(client, lines(*sent))

    assert answer.status_code == 207
    assert statuses(answer) == [201, 200, 409, 400, 422, 201, 202, 422, 422, 422, 400, 201]
    assert answer.json["summary"] == {
        "received": 12, "created": 3, "flagged": 1, "replayed": 1, "quarantined": 1, "refused": 7,
    }  # fmt: skip
    results = answer.json["results"]
    assert [(r["index"], r["line"]) for r in results] == [(n, n + 1) for n in range(12)]
    assert [r.get("id") for r in results] == [v.get("id") if isinstance(v, dict) else None for v in sent]
    assert results[2]["problem"]["pointers"] == ["#/purpose"]
    assert [fault["pointer"] for fault in results[4]["problem"]["errors"]] == ["#/purpose"]


def test_the_digest_of_each_is_of_its_own_bytes_as_a_line_or_in_an_array(client: FlaskClient) -> None:
    """The app compares its own bytes: what surrounds them in the batch is no part of them."""
    spelled = [json.dumps(visit(remarks="étage"), indent=3, ensure_ascii=False), json.dumps(visit())]
    array = client.post("/v1/calibrations:batch", data=" [\n" + " ,\t".join(spelled) + " ] ",
                        headers={"Content-Type": "application/json"})  # fmt: skip
    one_line = json.dumps(visit(remarks="étage"), ensure_ascii=False)
    by_line = as_lines(client, b"\n" + one_line.encode() + b"\r\n\n")

    digests = [f"sha256:{hashlib.sha256(text.encode()).hexdigest()}" for text in spelled]
    assert [result["receipt"]["digest"] for result in array.json["results"]] == digests
    (result,) = by_line.json["results"]
    assert result["receipt"]["digest"] == f"sha256:{hashlib.sha256(one_line.encode()).hexdigest()}"
    assert result["line"] == 2
    assert [sorted(r) for r in array.json["results"]] == [["id", "index", "receipt", "status"]] * 2


def test_a_batch_sent_again_is_replayed_whole(client: FlaskClient, settings: Settings) -> None:
    body = lines(visit(), visit(device_revision=7))
    first = as_lines(client, body).json
    before = rows(settings)["content"]

    again = as_lines(client, body)

    assert again.json["summary"]["replayed"] == 2
    for one, other in zip(first["results"], again.json["results"], strict=True):
        assert without(other["receipt"], "replayed") == without(one["receipt"], "replayed")
    assert rows(settings)["content"] == before


def test_all_are_kept_in_one_go_and_told_so(client: FlaskClient) -> None:
    answer = as_lines(client, lines(visit(), visit(schema="calibration/2"), visit()), "all")

    assert (answer.status_code, statuses(answer)) == (201, [201, 202, 201])


def test_where_one_of_all_cannot_be_kept_none_is_and_every_fault_is_pointed_at(
    client: FlaskClient, settings: Settings
) -> None:
    taken = visit()
    send(client, taken, taken["id"])
    before = rows(settings)
    sent = [visit(), taken | {"purpose": "audit"}, visit(purpose="for fun"), visit()]

    answer = as_lines(client, b"\n" + lines(*sent), "all")

    assert (answer.status_code, answer.json["code"]) == (422, "batch-refused")
    told = [(fault["pointer"], fault["code"], fault["line"]) for fault in answer.json["errors"]]
    assert told == [("#/1", "content-differs", 3), ("#/2/purpose", "value-not-accepted", 4)]
    assert resolved(sent, "#/2/purpose") == "for fun"
    assert rows(settings) == before


def test_the_same_id_twice_in_a_batch_is_kept_once_and_told_twice(client: FlaskClient) -> None:
    one = visit()

    answer = as_lines(client, lines(one, one, one | {"purpose": "audit"}))

    assert statuses(answer) == [201, 200, 409]


@pytest.mark.parametrize("end", [b"\n", b"\r\n", b"\n\n \n"])
def test_a_batch_of_nothing_is_answered_with_nothing(door: FlaskClient, end: bytes) -> None:
    assert as_lines(door, end).json["results"] == []
    assert as_lines(door, end + END % 0).json["results"] == []
    array = door.post("/v1/calibrations:batch", data=b"[ ]" + end, headers={"Content-Type": "application/json"})
    assert array.json == {"results": [], "summary": array.json["summary"]}


def test_five_hundred_are_taken_and_one_more_is_not(client: FlaskClient, settings: Settings) -> None:
    sent = [example("calibration-not-tested") | {"id": an_id()} for _ in range(501)]

    too_many = [as_lines(client, lines(*sent)), client.post("/v1/calibrations:batch", json=sent)]
    assert [(answer.status_code, answer.json["code"]) for answer in too_many] == [(413, "too-large")] * 2
    assert rows(settings)["content"] == 0

    taken = as_lines(client, lines(*sent[1:]))
    assert taken.json["summary"]["created"] == 500


def test_a_batch_of_lines_cut_at_any_byte_is_seen_to_be_cut(client: FlaskClient, settings: Settings) -> None:
    """In chunks nothing announces the length: then only the last line tells that all arrived."""
    small = [example("calibration-not-tested") | {"id": an_id()} for _ in range(20)]
    body = lines(*small) + END % 20
    in_chunks = {"wsgi.input_terminated": True, "HTTP_TRANSFER_ENCODING": "chunked"}
    before = rows(settings)

    for cut in range(len(body) - 1):
        answer = as_lines(client, body[:cut], environ_overrides=in_chunks)
        assert (answer.status_code, answer.json["code"]) == (400, "batch-cut"), cut
    assert rows(settings) == before

    assert as_lines(client, body[:-1], environ_overrides=in_chunks).json["summary"]["created"] == 20


@pytest.mark.parametrize("terminated", [True, False])
@pytest.mark.parametrize("cut", [1, 2, 300, 12_000])
def test_a_batch_shorter_than_it_was_announced_is_seen_to_be_cut(
    client: FlaskClient, settings: Settings, cut: int, terminated: bool
) -> None:
    """Servers differ: some hand over what came and say that the input has ended, some leave it to the length."""
    body = lines(visit(), visit())
    told = {"CONTENT_LENGTH": str(len(body)), "wsgi.input_terminated": terminated}

    answer = as_lines(client, body[:-cut], environ_overrides=told)

    assert (answer.status_code, answer.json["code"]) == (400, "batch-cut")
    assert rows(settings)["content"] == 0


@pytest.mark.parametrize("count", [0, 1, 3])
def test_a_last_line_that_counts_otherwise_than_what_came_is_believed(door: FlaskClient, count: int) -> None:
    answer = as_lines(door, lines(visit(), visit()) + END % count)

    assert (answer.status_code, answer.json["code"]) == (400, "batch-cut")


def test_an_array_cut_at_any_byte_is_not_json(client: FlaskClient, settings: Settings) -> None:
    attempts = [example("calibration-not-tested") | {"id": an_id()} for _ in range(3)]
    body = json.dumps(attempts).encode()

    for cut in range(1, len(body)):
        answer = client.post("/v1/calibrations:batch", data=body[:-cut], headers={"Content-Type": "application/json"})
        assert (answer.status_code, answer.json["code"]) == (400, "not-json"), cut
    assert rows(settings)["content"] == 0


@pytest.mark.parametrize(
    "body", [b"", b"{}", b"[,]", b"[1,]", b"[1 2]", b"[1]]", b"[1] x", b"\xff", b"\xef\xbb\xbf[]", b"[" * 9999]
)
def test_what_is_no_array_is_refused_whole(door: FlaskClient, body: bytes) -> None:
    answer = door.post("/v1/calibrations:batch", data=body, headers={"Content-Type": "application/json"})

    assert (answer.status_code, answer.json["code"]) == (400, "not-json")


def test_in_an_array_what_one_holds_stops_no_other(door: FlaskClient) -> None:
    """What strict JSON refuses is refused of the one that has it: a repeated name, an exponent, a text that is too long."""
    wrong = [
        '{"a":1,"a":2}',
        '{"a":1e9}',
        '{"a":"\\ud800"}',
        f'["{"x" * 10_001}"]',
        "[" * 30 + "]" * 30,
        "9" * 5000,
        "NaN",
    ]
    body = f"[{','.join([*wrong, json.dumps(visit())])}]"

    answer = door.post("/v1/calibrations:batch", data=body, headers={"Content-Type": "application/json"})

    assert statuses(answer) == [400] * len(wrong) + [201]


@pytest.mark.parametrize("media_type", ["text/csv", "application/json-seq", "application/merge-patch+json", ""])
def test_another_media_type_is_refused(door: FlaskClient, media_type: str) -> None:
    answer = door.post("/v1/calibrations:batch", data=b"[]", headers={"Content-Type": media_type})

    assert (answer.status_code, answer.json["code"]) == (415, "not-acceptable-type")
    assert "application/x-ndjson" in answer.json["detail"]


def test_a_batch_of_more_than_eight_mebibytes_is_refused_with_the_limit(door: FlaskClient) -> None:
    answer = as_lines(door, b"\n" * (8 * 1024 * 1024 + 1))

    assert (answer.status_code, answer.json["facts"]["limit_bytes"]) == (413, str(8 * 1024 * 1024))


def test_what_was_kept_before_the_record_was_held_is_told_and_the_rest_too(
    client: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("api.routes.batch.ITEMS_A_TRANSACTION", 2)
    work, calls = batch.unit_of_work, []

    def held_at_the_second(*arguments: Any) -> Any:
        calls.append(arguments)
        if len(calls) == 2:
            raise OperationalError("BEGIN IMMEDIATE", {}, Exception("database is locked"))
        return work(*arguments)

    monkeypatch.setattr("api.routes.batch.unit_of_work", held_at_the_second)
    body = lines(*(visit() for _ in range(5)))

    answer = as_lines(client, body)

    assert statuses(answer) == [201, 201, 503, 503, 503]
    monkeypatch.undo()
    assert statuses(as_lines(client, body)) == [200, 200, 201, 201, 201]


def test_a_fault_in_the_middle_says_how_many_were_kept(client: FlaskClient, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("api.routes.batch.ITEMS_A_TRANSACTION", 2)
    sent = [visit() for _ in range(5)]
    receive = batch.receive

    def breaks_at_the_fourth(connection: Any, arrived: Any, said: Any) -> Any:
        if arrived.calibration == sent[3]["id"]:
            raise RuntimeError
        return receive(connection, arrived, said)

    with monkeypatch.context() as broken:
        broken.setattr("api.routes.batch.receive", breaks_at_the_fourth)
        answer = as_lines(client, lines(*sent))

    assert (answer.status_code, answer.json["code"]) == (500, "fault")
    assert "the first 2 of the batch were kept" in answer.json["detail"]
    assert statuses(as_lines(client, lines(*sent))) == [200, 200, 201, 201, 201]
