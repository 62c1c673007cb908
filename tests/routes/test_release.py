"""Review and release: by a person who did not make the visit, every flag closed in words; a certificate is born of it.

ISO/IEC 17025:2017 7.8.1.1 asks that results are reviewed and authorised before release, 7.8.2.1 o) that a report says who
authorised it (from memory).
"""

import hashlib
import json
from dataclasses import replace
from typing import Any

import pytest
from flask.testing import FlaskClient

from api.metrology.policy import STARTING
from api.records.documents import document_of
from api.settings import Settings
from tests.doors import change, example, later, send
from tests.filled_record import NOON, rows
from tests.keyed import a_key, client_with, keyed_app
from tests.lives import a_visit, act, kept, release, seen, typed_from_paper

WORDS = "Compared with the sheet today: no reading differs."
ANSWER = {"code": "not-compared", "words": WORDS}
ON = "?on=2026-11-25"


def certificate(client: FlaskClient, number: str, question: str = "") -> dict[str, Any]:
    found: dict[str, Any] = client.get(f"/v1/certificates/{number}{question}").json
    return found


def with_policy(client: FlaskClient, **fields: Any) -> None:
    record = document_of(replace(STARTING, **fields))
    assert change(client, "policies/network", "2026-11-01", record).status_code in (200, 201)


def test_a_flagged_record_waits_and_has_no_certificate(door: FlaskClient) -> None:
    record = kept(door, a_visit(door))

    assert (record["standing"], record["stands"]["because"]) == ("provisional", "flagged: not-compared")
    assert "certificate" not in record


def test_a_person_closes_every_flag_in_words_and_the_certificate_says_so(client: FlaskClient) -> None:
    calibration = a_visit(client)

    answer = act(client, calibration, "release", {**seen(kept(client, calibration)), "answers": [ANSWER]})

    assert answer.status_code == 200
    assert (answer.json["standing"], answer.json["replayed"]) == ("released", False)
    stored = certificate(client, answer.json["certificate"])
    assert stored["released"] == {"by": "S-01", "at": NOON.isoformat(), "answers": [ANSWER]}
    assert (stored["revision"], stored["content"], "replaces" in stored) == (1, typed_from_paper(), False)
    assert stored["statements"][0].startswith("As found: pass.")


def test_the_certificate_of_a_release_states_what_one_by_rule_would(client: FlaskClient) -> None:
    by_rule = certificate(client, send(client, later(example(), -24)).json["certificate"])
    calibration = a_visit(client)

    by_person = certificate(client, release(client, calibration).json["certificate"])

    same = ("statements", "rule", "weight_certificates", "site", "ward", "device", "model", "policy", "technicians")
    assert {name: by_person[name] for name in same} == {name: by_rule[name] for name in same}


def test_the_digest_of_a_certificate_is_that_of_its_bytes(door: FlaskClient) -> None:
    number = release(door, a_visit(door)).json["certificate"]

    answer = door.get(f"/v1/certificates/{number}")

    assert answer.headers["Steelyard-Digest"] == f"sha256:{hashlib.sha256(answer.data).hexdigest()}"
    assert answer.headers["Steelyard-State"] == "in force"


def test_a_technician_of_the_visit_does_not_release_it(door: FlaskClient) -> None:
    calibration = a_visit(door)

    answer = release(door, calibration, by="T-01")

    assert (answer.status_code, answer.json["code"]) == (403, "own-work")
    assert answer.json["facts"] == {"person": "T-01", "technicians": "T-01"}
    assert kept(door, calibration)["standing"] == "provisional"


@pytest.mark.parametrize(("answers", "facts"), [
    ([], {"open": "not-compared"}),
    ([{"code": "off-grid", "words": "never mind"}], {"open": "not-compared", "not_flagged": "off-grid"}),
    ([ANSWER, ANSWER], {"twice": "not-compared"}),
])  # fmt: skip
def test_a_flag_that_is_not_closed_by_its_name_holds_the_record(
    client: FlaskClient, answers: list[Any], facts: dict[str, str]
) -> None:
    calibration = a_visit(client)

    answer = act(client, calibration, "release", {**seen(kept(client, calibration)), "answers": answers})

    assert (answer.status_code, answer.json["code"], answer.json["facts"]) == (422, "flags-open", facts)
    assert all(codes in answer.json["detail"] for codes in facts.values())
    assert kept(client, calibration)["standing"] == "provisional"


def test_what_was_typed_from_paper_is_compared_before_it_is_released(client: FlaskClient) -> None:
    compared = typed_from_paper()
    compared["taken_down"]["compared_by"] = "T-03"

    assert send(client, later(compared, -24)).json["standing"] == "released"
    assert [f["code"] for f in kept(client, a_visit(client))["flags"]] == ["not-compared"]


def test_released_again_changes_nothing(client: FlaskClient, settings: Settings) -> None:
    calibration = a_visit(client)
    asked = {**seen(kept(client, calibration)), "answers": [ANSWER]}
    first = act(client, calibration, "release", asked).json
    before = rows(settings)

    again = act(client, calibration, "release", asked)

    assert (again.status_code, again.json["replayed"], again.json["certificate"]) == (200, True, first["certificate"])
    assert rows(settings) == before


@pytest.mark.parametrize("other", [{"digest": f"sha256:{64 * '0'}"}, {"judgement": 2}])
def test_what_was_not_looked_at_is_not_released(door: FlaskClient, other: dict[str, Any]) -> None:
    calibration = a_visit(door)
    record = kept(door, calibration)

    answer = act(door, calibration, "release", {**seen(record), "answers": [ANSWER], **other})

    assert (answer.status_code, answer.json["code"]) == (412, "revision-differs")
    assert record["digest"] in answer.json["detail"] or answer.json["facts"]["judgement"] == "1"


def test_a_record_of_a_scale_that_nobody_knows_gets_no_certificate(door: FlaskClient) -> None:
    calibration = a_visit(door, example() | {"device": "Z-98"})

    answer = release(door, calibration)

    assert (answer.status_code, answer.json["code"]) == (409, "cannot-certify")
    assert answer.json["facts"] == {"lacks": "device"}


def test_an_attempt_is_released_without_a_certificate(door: FlaskClient) -> None:
    attempt = example("calibration-not-tested") | {"reasons": []}
    calibration = a_visit(door, attempt)
    assert kept(door, calibration)["standing"] == "provisional"

    answer = release(door, calibration).json

    assert (answer["standing"], "certificate" in answer) == ("released", False)


def test_words_that_name_a_person_are_not_kept(client: FlaskClient, settings: Settings) -> None:
    calibration = a_visit(client)
    before = rows(settings)

    answer = act(client, calibration, "review", {"words": "Ask Mr Smith about the sheet."})

    assert (answer.status_code, answer.json["code"]) == (422, "names-a-person")
    assert rows(settings) == before


def test_a_remark_is_seen_by_all_and_releases_nothing(door: FlaskClient) -> None:
    calibration, words = a_visit(door), "Held back: where is the sheet?"

    answers = [act(door, calibration, "review", {"words": words}) for _ in range(2)]

    assert [answer.json["replayed"] for answer in answers] == [False, True]
    record = kept(door, calibration)
    assert record["standing"] == "provisional"
    assert record["remarks"] == [{"words": words, "by_whom": "S-01", "moment": NOON.isoformat()}]


def test_nobody_in_particular_releases_nothing(door: FlaskClient) -> None:
    calibration = a_visit(door)

    answer = door.post(f"/v1/calibrations/{calibration}/review", json={"words": "Held back."})

    assert (answer.status_code, answer.json["code"]) == (403, "person-missing")


def test_the_persons_own_key_says_who_releases(settings: Settings) -> None:
    with keyed_app(settings) as app:
        engine = app.extensions["steelyard.engine"]
        unit = a_key(engine, "read", "submit", "release", holder="DESK")
        people = {who: a_key(engine, "release", holder=who, held_by="person") for who in ("T-01", "S-01")}
        calibration = a_visit(client_with(app, unit))

        own, other = (release(client_with(app, unit, people[who]), calibration, by="X") for who in ("T-01", "S-01"))

        assert (own.json["code"], other.status_code) == ("own-work", 200)
        assert kept(client_with(app, unit), calibration)["stands"]["by_whom"] == "S-01"


def test_a_person_of_another_site_finds_no_record(settings: Settings) -> None:
    with keyed_app(settings) as app:
        engine = app.extensions["steelyard.engine"]
        calibration = a_visit(client_with(app, a_key(engine, "submit", holder="APP")))
        elsewhere = a_key(engine, "release", "read", holder="DESK", sites=("HM",))
        person = a_key(engine, "release", holder="S-01", held_by="person")

        answer = act(client_with(app, elsewhere, person), calibration, "review", {"words": "Held back."})

        assert (answer.status_code, answer.json["code"]) == (404, "not-on-record")


def test_the_starting_policy_releases_by_rule_and_the_certificate_names_it(client: FlaskClient) -> None:
    receipt = send(client, example()).json

    by_rule = certificate(client, receipt["certificate"])["released"]["by_rule"]

    assert (by_rule["policy"], "responsible" in by_rule) == ("network", False)
    assert "ISO/IEC 17025:2017 7.8.1.1" in by_rule["source"]


def test_the_certificate_names_the_rule_its_edition_and_who_is_responsible(client: FlaskClient) -> None:
    with_policy(client, responsible="S-01")

    receipt = send(client, example()).json

    by_rule = certificate(client, receipt["certificate"])["released"]["by_rule"]
    number = client.get(f"/v1/policies/network{ON}").json["number"]
    assert (by_rule["policy"], by_rule["revision"], by_rule["responsible"]) == ("network", number, "S-01")
    because = kept(client, receipt["calibration"])["stands"]["because"]
    assert because == f"released by rule, nothing is flagged: policy network, revision {number}; S-01 is responsible"


def test_where_the_policy_says_so_a_person_releases_everything(client: FlaskClient) -> None:
    with_policy(client, release_unflagged=False)

    receipt = send(client, example()).json
    assert (receipt["standing"], receipt["flags"], "certificate" in receipt) == ("provisional", [], False)
    assert client.post("/v1/calibrations:check", json=example()).json["standing"] == "provisional"

    answer = release(client, receipt["calibration"]).json
    assert (answer["standing"], answer["certificate_revision"]) == ("released", 1)


def test_nothing_is_released_in_the_name_of_who_made_the_visit(client: FlaskClient) -> None:
    with_policy(client, responsible="T-01")

    receipt = send(client, example()).json

    assert (receipt["standing"], receipt["flags"]) == ("provisional", [])
    assert "T-01, in whose name" in kept(client, receipt["calibration"])["stands"]["because"]


def test_the_policy_of_the_day_of_the_release_counts_not_that_of_the_visit(client: FlaskClient) -> None:
    record = document_of(replace(STARTING, release_unflagged=False))
    change(client, "policies/network", "2026-11-25", record)  # the visit was the day before

    assert send(client, example()).json["standing"] == "provisional"


def test_a_policy_that_names_nobody_responsible_is_noted(client: FlaskClient) -> None:
    def notes() -> list[str]:
        return [note["code"] for note in client.get(f"/v1/policies/network{ON}").json["notes"]]

    with_policy(client)
    assert notes() == ["nobody-responsible"]
    with_policy(client, responsible="S-01")
    assert notes() == []


def test_a_provisional_pass_waits_and_a_release_lets_it_count(client: FlaskClient) -> None:
    calibration = a_visit(client)
    assert client.get(f"/v1/devices/A-04/use{ON}").json["may"] == "not proven"

    release(client, calibration)

    assert client.get(f"/v1/devices/A-04/use{ON}").json["may"] != "not proven"
    assert client.get(f"/v1/devices/A-04/due{ON}").status_code == 404  # the due date is asked of the list
    (due,) = [d for d in client.get(f"/v1/due{ON}").json["items"] if d["device"] == "A-04"]
    assert due["last_calibrated"] == "2026-11-24"


def test_a_release_is_one_entry_of_the_log_that_touches_what_shows_the_record(door: FlaskClient) -> None:
    calibration = a_visit(door)
    answer = release(door, calibration).json

    (entry,) = door.get(f"/v1/changes?after={answer['log_number'] - 1}&limit=1").json["items"]

    assert (entry["kind"], entry["by_whom"]) == ("calibration released", "S-01")
    touched = {(t["kind"], t["key"]) for t in entry["touched"]}
    assert {("calibration", f"QG/{calibration}"), ("device", "A-04"), ("site", "QG")} <= touched
    assert ("certificate", answer["certificate"]) in touched
    assert json.dumps(entry).count(answer["certificate"]) == 1
