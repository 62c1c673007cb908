"""A submission in a schema newer than the service is kept whole and judged by a later program; nothing is lost.

The offline protocol's own rule: a measurement in the field cannot be repeated, and a phone may be updated first.
"""

import hashlib
import json
from typing import Any

import pytest
from flask.testing import FlaskClient

from api.metrology.submission import Submission
from api.settings import Settings
from schemas import submission
from tests.cli.conftest import runner_on
from tests.doors import an_id, example, send, without
from tests.filled_record import NOON, rows


def newer(**fields: Any) -> dict[str, Any]:
    """A body as a later app may send it: a field renamed, and one that nobody knows yet."""
    return without(example(), "schema") | {"schema": "calibration/2", "weather": {"pressure": "1013 hPa"}} | fields


def as_version_2(content: Any) -> Submission:
    """How a later program may read version 2: what it calls weather is left aside, the rest is as it was."""
    return submission.submission_of(without(content, "weather") | {"schema": "calibration/1"})


def test_it_is_kept_and_the_receipt_names_its_digest_and_log_entry(client: FlaskClient) -> None:
    calibration, body = an_id(), json.dumps(newer()).encode()

    answer = send(client, body, calibration)

    assert answer.status_code == 202
    receipt = answer.json
    assert (receipt["schema"], receipt["site"], receipt["replayed"]) == ("calibration/2", "QG", False)
    assert receipt["digest"] == receipt["arrived_digest"] == f"sha256:{hashlib.sha256(body).hexdigest()}"
    entry = client.get(f"/v1/changes?after={receipt['log_number'] - 1}&limit=1").json["items"][0]
    assert (entry["hash"], entry["kind"]) == (receipt["log_hash"], "submission kept in quarantine")
    read = client.get(answer.headers["Location"])
    assert (read.data, read.headers["Steelyard-Digest"]) == (body, receipt["digest"])


def test_it_is_listed_with_what_every_version_says_of_itself(client: FlaskClient) -> None:
    first, second = an_id(), an_id()
    send(client, newer(), first)
    send(client, newer(schema="calibration/17", site="HM", device=["a", "new", "form"]), second)

    items = client.get("/v1/quarantine").json["items"]

    told = [(i["calibration"], i["schema"], i["site"], i.get("device")) for i in items]
    assert told == [(first, "calibration/2", "QG", "A-04"), (second, "calibration/17", "HM", None)]
    assert [i["calibration"] for i in client.get("/v1/quarantine?site=HM").json["items"]] == [second]


def test_the_same_again_is_the_first_receipt_and_other_content_is_refused(
    client: FlaskClient, settings: Settings
) -> None:
    calibration = an_id()
    first = send(client, newer(), calibration).json

    again = send(client, json.dumps(newer(), indent=1).encode(), calibration)
    other = send(client, newer(weather="fine"), calibration)

    assert (again.status_code, again.json["replayed"]) == (202, True)
    assert without(again.json, "replayed", "arrived_digest") == without(first, "replayed", "arrived_digest")
    assert (other.status_code, other.json["pointers"]) == (409, ["#/weather"])
    assert rows(settings)["quarantine"] == 1


@pytest.mark.parametrize(("schema", "code"), [
    ("calibration/1", "field-unknown"), ("calibration/0", "value-not-accepted"), ("calibration/02", "value-not-accepted"),
    ("calibration/two", "value-not-accepted"), ("verification/2", "value-not-accepted"), (2, "value-not-accepted"),
    ("calibration/99999", "value-not-accepted"), ("calibration/²", "value-not-accepted"),
])  # fmt: skip
def test_what_names_no_newer_version_is_refused_as_before(door: FlaskClient, schema: Any, code: str) -> None:
    answer = send(door, newer(schema=schema))

    assert (answer.status_code, answer.json["code"]) == (422, "wrong-shape")
    assert code in [fault["code"] for fault in answer.json["errors"]]


@pytest.mark.parametrize("site", [None, "", 7, "a site with far too long a code for any register there is"])
def test_without_a_site_that_can_be_read_nobody_could_find_it_again(door: FlaskClient, site: Any) -> None:
    answer = send(door, newer(site=site))

    assert answer.status_code == 422
    assert [fault["pointer"] for fault in answer.json["errors"]] == ["#/site"]


def test_after_an_upgrade_it_is_taken_up_judged_and_recorded_as_it_arrived(
    client: FlaskClient, settings: Settings, monkeypatch: pytest.MonkeyPatch
) -> None:
    calibration, body = an_id(), json.dumps(newer()).encode()
    kept = send(client, body, calibration, Steelyard_Sent_At="2026-11-25T11:59:00Z").json
    before = runner_on(settings)("quarantine", "--take-up").output
    monkeypatch.setitem(submission.VERSIONS, "calibration/2", as_version_2)

    said = runner_on(settings)("quarantine", "--take-up").output

    assert f"{calibration} at QG: stays; #/schema: Found" in before
    assert f"{calibration} at QG: recorded, released, log entry" in said
    read = client.get(f"/v1/calibrations/{calibration}").json
    assert (read["as_found"], read["standing"], read["received_at"]) == ("pass", "released", NOON.isoformat())
    assert (read["digest"], read["content"]) == (kept["digest"], json.loads(body))
    assert client.get("/v1/quarantine").json["items"] == []
    again = send(client, body, calibration)
    assert (again.status_code, again.json["replayed"], again.json["digest"]) == (200, True, kept["digest"])


def test_what_an_upgrade_cannot_read_either_stays_listed_and_the_others_are_taken_up(
    client: FlaskClient, settings: Settings, monkeypatch: pytest.MonkeyPatch
) -> None:
    wrong, right = an_id(), an_id()
    send(client, newer(purpose="for fun"), wrong)
    send(client, newer(), right)
    monkeypatch.setitem(submission.VERSIONS, "calibration/2", as_version_2)

    said = runner_on(settings)("quarantine", "--take-up").output

    assert f"{wrong} at QG: stays; #/purpose: Found" in said
    assert [item["calibration"] for item in client.get("/v1/quarantine").json["items"]] == [wrong]
    assert client.get(f"/v1/calibrations/{right}").status_code == 200


def test_what_an_older_version_of_the_app_sent_under_its_id_meanwhile_is_not_pushed_aside(
    client: FlaskClient, settings: Settings, monkeypatch: pytest.MonkeyPatch
) -> None:
    calibration = an_id()
    send(client, newer(), calibration)
    older = send(client, example() | {"purpose": "audit"}, calibration)
    monkeypatch.setitem(submission.VERSIONS, "calibration/2", as_version_2)

    said = runner_on(settings)("quarantine", "--take-up").output

    assert older.status_code == 201
    assert said == "0 waited.\n"
    assert client.get(f"/v1/calibrations/{calibration}").json["purpose"] == "audit"
    assert client.get(f"/v1/quarantine/{calibration}").json == newer()
