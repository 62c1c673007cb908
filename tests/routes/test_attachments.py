"""Attachments arrive under the digest of their bytes, before or after the visit that names them, and are handed back safely.

Digests: SHA-256, FIPS 180-4; what the fields of the answer do: Fetch Standard (nosniff), CSP level 3 (sandbox), RFC 6266. The
rules themselves are our own.
"""

import hashlib
from itertools import permutations
from typing import Any

import pytest
from flask.testing import FlaskClient
from sqlalchemy import select

from api.database import make_engine, reading
from api.ledger.digests import digest_of
from api.models.log import LOG_TOUCH
from api.routes.attachments import MOST_BYTES
from api.settings import Settings
from tests.doors import an_id, example, later, send
from tests.filled_record import rows
from tests.keyed import ALL, a_key, client_with, keyed_app
from tests.routes.attachments_sent import FILES, naming, put

PNG = FILES["image/png"]


def kept(client: FlaskClient, calibration: str) -> dict[str, Any]:
    found: dict[str, Any] = client.get(f"/v1/calibrations/{calibration}").json
    return found


def note_codes(body: dict[str, Any]) -> list[str]:
    return [note["code"] for note in body["notes"]]


@pytest.mark.parametrize("media_type", FILES)
def test_a_file_of_each_kind_is_kept_and_handed_back_byte_for_byte(client: FlaskClient, media_type: str) -> None:
    content = FILES[media_type]
    digest = f"sha256:{hashlib.sha256(content).hexdigest()}"

    answer = put(client, content, media_type)

    assert (answer.status_code, answer.json["digest"], answer.json["replayed"]) == (201, digest, False)
    assert (answer.json["size"], answer.json["media_type"]) == (len(content), media_type)
    found = client.get(answer.headers["Location"])
    assert (found.data, found.mimetype) == (content, media_type)


def test_what_is_handed_back_is_saved_by_a_browser_and_never_run(client: FlaskClient) -> None:
    address = put(client, b"<script>alert(1)</script>", "text/plain").headers["Location"]

    headers = client.get(address).headers

    assert headers["Content-Type"].startswith("text/plain")
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["Content-Security-Policy"] == "default-src 'none'; sandbox"
    assert headers["Content-Disposition"].startswith("attachment; filename=")
    assert headers["Cache-Control"] == "no-store"


def test_the_same_bytes_again_are_answered_by_the_first_receipt_and_write_nothing(
    client: FlaskClient, settings: Settings
) -> None:
    first = put(client, PNG, "image/png")
    before = rows(settings)

    again = put(client, PNG, "image/png")

    assert (again.status_code, again.json) == (200, first.json | {"replayed": True})
    assert rows(settings) == before


def test_bytes_of_another_digest_are_refused_with_both_named(client: FlaskClient, settings: Settings) -> None:
    before = rows(settings)

    answer = put(client, PNG[:-1], "image/png", digest_of(PNG))

    assert (answer.status_code, answer.json["code"]) == (422, "digest-differs")
    assert answer.json["facts"] == {"address": digest_of(PNG), "found": digest_of(PNG[:-1]), "bytes": str(len(PNG) - 1)}
    assert rows(settings) == before


@pytest.mark.parametrize("declared", FILES)
@pytest.mark.parametrize("sent", FILES)
def test_a_file_is_taken_as_what_it_is_and_as_nothing_else(client: FlaskClient, declared: str, sent: str) -> None:
    both_text = declared.startswith("text/") and sent.startswith("text/")

    answer = put(client, FILES[sent], declared)

    if declared == sent or both_text:
        assert answer.status_code == 201
    else:
        assert (answer.status_code, answer.json["code"]) == (422, "not-what-it-says")
        assert answer.json["facts"]["declared"] == declared


@pytest.mark.parametrize("content", [b"", b"a\x00b", b"\x1b[31mred", b"\x7fELF", b"PK\x03\x04", b"GIF89a\x01\x00"])
def test_what_is_neither_text_nor_a_kind_that_is_taken_is_refused_as_text_too(
    client: FlaskClient, content: bytes
) -> None:
    assert put(client, content, "text/plain").json["code"] == "not-what-it-says"


@pytest.mark.parametrize("media_type", ["", "application/json", "text/html", "image/svg+xml", "image/gif"])
def test_a_type_that_is_not_taken_is_refused_with_those_that_are(client: FlaskClient, media_type: str) -> None:
    answer = put(client, PNG, media_type)

    assert (answer.status_code, answer.json["code"]) == (415, "not-acceptable-type")
    assert all(taken in answer.json["detail"] for taken in FILES)


def test_ten_mebibytes_are_taken_and_one_byte_more_is_not(client: FlaskClient) -> None:
    most = b"a" * MOST_BYTES

    assert put(client, most, "text/plain").status_code == 201
    answer = put(client, most + b"a", "text/plain")

    assert (answer.status_code, answer.json["code"]) == (413, "too-large")
    assert answer.json["facts"]["limit_bytes"] == str(10 * 1024 * 1024)


def test_the_site_has_to_be_said(client: FlaskClient) -> None:
    answer = put(client, PNG, "image/png", question="")

    assert (answer.status_code, answer.json["errors"][0]["parameter"]) == (400, "site")


def test_a_visit_before_its_attachment_has_a_note_that_holds_nothing_and_goes_when_it_arrives(
    client: FlaskClient,
) -> None:
    calibration = an_id()

    receipt = send(client, naming(PNG), calibration).json
    waiting = kept(client, calibration)
    arrived = put(client, PNG, "image/png")
    whole = kept(client, calibration)

    assert (receipt["standing"], note_codes(receipt)) == ("released", ["attachment-missing"])
    assert receipt["notes"][0]["facts"] == {"digest": digest_of(PNG)}
    assert receipt["notes"][0]["pointer"] == "#/attachments/0/digest"
    assert note_codes(waiting) == ["attachment-missing"]
    assert waiting["attachments"] == [
        {"digest": digest_of(PNG), "what": "the label on the column", "pointer": "#/attachments/0/digest"}
    ]
    assert arrived.json["named_by"] == [calibration]
    assert note_codes(whole) == []
    assert (whole["attachments"][0]["media_type"], whole["attachments"][0]["size"]) == ("image/png", len(PNG))
    assert (whole["standing"], whole["working"]) == (waiting["standing"], waiting["working"])


def test_whatever_arrives_first_the_visit_is_read_the_same(client: FlaskClient) -> None:
    """Two attachments and two visits that name them in each order: what is told does not tell the order."""
    contents = [FILES["image/png"], FILES["text/csv"]]
    told = []
    for number, order in enumerate(permutations(range(3))):
        mine = [content + f"{number}".encode() for content in contents]
        calibration, body = an_id(), later(naming(*mine), -number)
        acts = [
            lambda c=mine[0]: put(client, c, "image/png"), lambda c=mine[1]: put(client, c, "text/csv"),
            lambda i=calibration, b=body: send(client, b, i),
        ]  # fmt: skip
        for place in order:
            assert acts[place]().status_code == 201
        found = kept(client, calibration)
        told.append((found["standing"], note_codes(found), [(a["what"], a["size"]) for a in found["attachments"]]))

    assert len(told) == 6
    assert all(one == told[0] for one in told)
    assert told[0][1] == []


def test_the_sheet_that_readings_were_typed_from_is_an_attachment_too(client: FlaskClient) -> None:
    calibration = an_id()
    typed = {"read_by": "T-01", "typed_by": "T-01", "compared_by": "T-02", "from_sheet": digest_of(PNG)}

    send(client, example() | {"taken_down": typed}, calibration)
    waiting = kept(client, calibration)
    put(client, PNG, "image/png")

    missing = [note for note in waiting["notes"] if note["code"] == "attachment-missing"]
    assert [note["pointer"] for note in missing] == ["#/taken_down/from_sheet"]
    assert "attachment-missing" not in note_codes(kept(client, calibration))


def test_a_check_tells_which_attachments_are_still_to_be_sent(client: FlaskClient) -> None:
    put(client, PNG, "image/png")

    found = client.post("/v1/calibrations:check", json=naming(PNG, FILES["text/csv"])).json

    assert [note["pointer"] for note in found["notes"]] == ["#/attachments/1/digest"]


def test_words_on_an_attachment_that_look_like_a_person_are_flagged(client: FlaskClient) -> None:
    receipt = send(client, naming(PNG, what="scale with Mrs Miller on it")).json

    assert [(f["code"], f["pointer"]) for f in receipt["flags"]] == [("looks-like-a-person", "#/attachments/0/what")]


def test_the_log_names_what_an_attachment_shows_on(client: FlaskClient, settings: Settings) -> None:
    calibration = an_id()
    send(client, naming(PNG), calibration)

    number = put(client, PNG, "image/png").json["log_number"]

    engine = make_engine(settings.database_url)
    with reading(engine) as connection:
        query = select(LOG_TOUCH.c.kind, LOG_TOUCH.c.key).where(LOG_TOUCH.c.number == number)
        touched = {tuple(row) for row in connection.execute(query)}
    engine.dispose()
    assert touched == {
        ("attachment", f"QG/{digest_of(PNG)}"), ("site", "QG"), ("calibration", f"QG/{calibration}"),
        ("device", "A-04"), ("ward", "QG-CDU"),
    }  # fmt: skip
    (entry,) = client.get(f"/v1/changes?after={number - 1}").json["items"]
    assert (entry["kind"], entry["digests"]) == ("attachment received", {"attachment": digest_of(PNG)})


def test_an_attachment_of_another_site_is_as_if_it_were_not_there(settings: Settings) -> None:
    with keyed_app(settings) as app:
        engine = app.extensions["steelyard.engine"]
        here, there = (client_with(app, a_key(engine, *ALL, sites=(s,), holder=f"APP-{s}")) for s in ("QG", "HM"))
        address = put(here, PNG, "image/png").headers["Location"]
        bare = address.partition("?")[0]

        assert [here.get(a).status_code for a in (address, bare)] == [200, 200]
        assert [there.get(a).status_code for a in (address, bare)] == [404, 404]
        assert put(there, PNG, "image/png").json["code"] == "site-not-in-key"
        own = put(there, PNG, "image/png", question="?site=HM")
        assert (own.status_code, there.get(bare).data) == (201, PNG)


def test_a_visit_that_names_an_attachment_of_another_site_waits_for_its_own(client: FlaskClient) -> None:
    put(client, PNG, "image/png", question="?site=HM")

    assert note_codes(send(client, naming(PNG)).json) == ["attachment-missing"]
