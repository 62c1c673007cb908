"""Calibrations over the web: kept once, replayed for good, never changed, read back as sent."""

import hashlib
import json
from typing import Any

import pytest
from flask.testing import FlaskClient

from api.settings import Settings
from tests.doors import JSON, an_id, change, example, example_bytes, reading_of, resolved, send, without
from tests.filled_record import NOON, rows


def with_other_key_order(body: Any) -> Any:
    if isinstance(body, dict):
        return {name: with_other_key_order(body[name]) for name in reversed(list(body))}
    return [with_other_key_order(item) for item in body] if isinstance(body, list) else body


def test_a_new_calibration_is_kept_and_released(door: FlaskClient) -> None:
    calibration = an_id()

    answer = send(door, example_bytes(), calibration)

    assert answer.status_code == 201
    assert answer.headers["Location"] == f"/v1/calibrations/{calibration}?site=QG"
    assert answer.json["standing"] == "released"
    assert (answer.json["as_found"], answer.json["as_left"], answer.json["flags"]) == ("pass", "pass", [])


def test_the_receipt_says_what_the_app_needs_to_let_go_of_its_copy(client: FlaskClient) -> None:
    calibration, body = an_id(), example_bytes()

    receipt = send(client, body, calibration).json

    assert receipt["calibration"] == calibration
    assert (receipt["site"], receipt["revision"], receipt["replayed"]) == ("QG", 1, False)
    assert receipt["received_at"] == NOON.isoformat()
    assert receipt["digest"] == receipt["arrived_digest"] == f"sha256:{hashlib.sha256(body).hexdigest()}"
    entry = client.get(f"/v1/changes?after={receipt['log_number'] - 1}&limit=1").json["items"][0]
    assert (entry["hash"], entry["kind"]) == (receipt["log_hash"], "calibration recorded")
    assert receipt["certificate"] in [t["key"] for t in entry["touched"]]


def test_the_same_bytes_again_are_the_first_receipt_marked_replayed(client: FlaskClient, settings: Settings) -> None:
    calibration = an_id()
    first = send(client, example_bytes(), calibration).json
    before = rows(settings)

    again = send(client, example_bytes(), calibration)

    assert again.status_code == 200
    assert without(again.json, "replayed") == without(first, "replayed")
    assert again.json["replayed"] is True
    after = rows(settings)
    grown = {name for name in after if after[name] != before[name]}
    assert grown == {"arrival", "log_entry", "log_touch", "sealed"}


@pytest.mark.parametrize("indent", [None, 4])
def test_other_key_order_and_white_space_are_the_same_content(door: FlaskClient, indent: int | None) -> None:
    calibration = an_id()
    send(door, example_bytes(), calibration)

    sent = json.dumps(with_other_key_order(example()), indent=indent).encode()
    again = send(door, sent, calibration)

    assert (again.status_code, again.json["replayed"]) == (200, True)
    assert again.json["digest"] == f"sha256:{hashlib.sha256(example_bytes()).hexdigest()}"
    assert again.json["arrived_digest"] == f"sha256:{hashlib.sha256(sent).hexdigest()}"


def test_the_same_number_written_with_another_zero_is_other_content(door: FlaskClient) -> None:
    calibration, body = an_id(), example()
    body["environment"]["start"]["temperature_c"] = "10.10"
    send(door, body, calibration)
    body["environment"]["start"]["temperature_c"] = "10.1"

    answer = send(door, body, calibration)

    assert (answer.status_code, answer.json["code"]) == (409, "content-differs")
    assert answer.json["pointers"] == ["#/environment/start/temperature_c"]


def test_the_same_text_escaped_is_the_same_content(door: FlaskClient) -> None:
    calibration, body = an_id(), example() | {"remarks": "étage deux / côté ouest"}
    send(door, json.dumps(body, ensure_ascii=False).encode(), calibration)

    answer = send(door, json.dumps(body, ensure_ascii=True).replace("/ c", "\\/ c").encode(), calibration)

    assert (answer.status_code, answer.json["replayed"]) == (200, True)


def test_a_conflict_names_what_differs_and_changes_nothing(client: FlaskClient, settings: Settings) -> None:
    calibration, sent = an_id(), example()
    send(client, sent, calibration)
    before = rows(settings)
    other = without(sent, "ward") | {"remarks": "again"}
    reading_of(other, "increasing", load="150")["indication"]["value"] = "149.8"
    other["as_found"]["readings"].append(dict(other["as_found"]["readings"][-1], seq=99))

    answer = send(client, other, calibration)

    assert (answer.status_code, answer.json["code"]) == (409, "content-differs")
    readings = len(sent["as_found"]["readings"])
    assert answer.json["pointers"] == [
        "#/as_found/readings/6/indication/value", f"#/as_found/readings/{readings}", "#/remarks", "#/ward",
    ]  # fmt: skip
    for pointer in answer.json["pointers"]:
        resolved(sent if pointer == "#/ward" else other, pointer)
    assert rows(settings) == before


def test_a_conflict_tells_both_digests(door: FlaskClient) -> None:
    calibration, other = an_id(), json.dumps(example() | {"purpose": "audit"}).encode()
    send(door, example_bytes(), calibration)

    facts = send(door, other, calibration).json["facts"]

    kept, sent = (f"sha256:{hashlib.sha256(body).hexdigest()}" for body in (example_bytes(), other))
    assert facts == {"kept_digest": kept, "sent_digest": sent}


def test_a_hundred_differing_pointers_are_enough(door: FlaskClient) -> None:
    calibration, body = an_id(), example()
    send(door, body, calibration)
    body["checks"] = [{"item": f"item {n}", "result": "in order"} for n in range(60)]
    body["identity"] = [{"item": "serial", "matches": True, "seen": f"S{n}"} for n in range(20)]
    body["as_found"]["readings"] += [dict(body["as_found"]["readings"][0], seq=1000 + n) for n in range(100)]

    answer = send(door, body, calibration)

    assert (answer.status_code, len(answer.json["pointers"])) == (409, 100)


def test_a_calibration_is_read_back_with_its_content_and_working(client: FlaskClient) -> None:
    calibration = an_id()
    receipt = send(client, example_bytes(), calibration).json

    read = client.get(f"/v1/calibrations/{calibration}").json

    assert read["content"] == example()
    assert read["working"]["as_found"]["verdict"] == "pass"
    same = ("calibration", "site", "revision", "digest", "standing", "certificate", "as_found", "as_left", "flags")
    assert {name: read[name] for name in same} == {name: receipt[name] for name in same}
    assert read["log_number"] == receipt["log_number"]


def test_the_content_is_kept_byte_for_byte(door: FlaskClient) -> None:
    calibration, body = (
        an_id(),
        json.dumps(with_other_key_order(example()), indent=7, ensure_ascii=True).encode() + b"\n ",
    )
    receipt = send(door, body, calibration).json

    content = door.get(f"/v1/calibrations/{calibration}/content")

    assert content.get_data() == body
    assert content.headers["Steelyard-Digest"] == receipt["digest"]


def test_the_same_id_at_two_sites_is_two_calibrations(door: FlaskClient) -> None:
    calibration = an_id()
    here = send(door, example_bytes(), calibration)
    there = send(door, example() | {"site": "HM"}, calibration)

    both = door.get(f"/v1/calibrations/{calibration}")

    assert (here.status_code, there.status_code) == (201, 201)
    assert (both.status_code, both.json["code"]) == (404, "not-on-record")
    assert "2 sites" in both.json["detail"]
    for site in ("QG", "HM"):
        assert door.get(f"/v1/calibrations/{calibration}?site={site}").json["site"] == site
        assert json.loads(door.get(f"/v1/calibrations/{calibration}/content?site={site}").get_data())["site"] == site


def test_an_id_of_another_site_is_as_unknown_as_any(door: FlaskClient) -> None:
    calibration = an_id()
    send(door, example_bytes(), calibration)

    elsewhere = door.get(f"/v1/calibrations/{calibration}?site=HM")
    nowhere = door.get(f"/v1/calibrations/{an_id()}?site=HM")

    assert elsewhere.status_code == nowhere.status_code == 404
    assert without(elsewhere.json, "instance", "facts") == without(nowhere.json, "instance", "facts")


def test_an_id_is_one_however_its_letters_are_written(door: FlaskClient) -> None:
    calibration = an_id()
    send(door, example_bytes(), calibration)

    again = send(door, example_bytes(), calibration.upper())

    assert (again.status_code, again.json["calibration"]) == (200, calibration)


def test_a_certificate_answers_with_the_stored_bytes_and_their_digest(client: FlaskClient) -> None:
    receipt = send(client, example_bytes()).json

    answer = client.get(f"/v1/certificates/{receipt['certificate']}")

    assert answer.headers["Steelyard-Digest"] == f"sha256:{hashlib.sha256(answer.get_data()).hexdigest()}"
    assert answer.json["number"] == receipt["certificate"]
    assert answer.json["content_digest"] == receipt["digest"]
    assert answer.json["content"] == example()
    assert "due" not in json.dumps(answer.json["statements"]).lower()


def test_an_attempt_without_readings_is_kept_without_a_certificate(door: FlaskClient) -> None:
    receipt = send(door, example_bytes("calibration-not-tested")).json

    assert receipt["standing"] == "released"
    assert not {"certificate", "as_found", "as_left"} & set(receipt)


def test_every_arrival_is_kept_with_the_apps_clock(client: FlaskClient, settings: Settings) -> None:
    calibration = an_id()
    for sent_at in ("2026-11-25T05:00:00-07:00", "2026-11-25t12:00:30z", None, "yesterday"):
        told = {} if sent_at is None else {"Steelyard_Sent_At": sent_at}
        assert send(client, example_bytes(), calibration, **told).status_code in (200, 201)

    with client.application.extensions["steelyard.engine"].connect() as connection:
        found = connection.exec_driver_sql("SELECT place, offset_seconds FROM arrival ORDER BY place").all()

    assert [tuple(row) for row in found] == [(1, "0.000"), (2, "-30.000"), (3, None), (4, None)]


def test_who_sends_is_noted_and_never_more_than_a_code(door: FlaskClient) -> None:
    for by, noted in (("T-01", "T-01"), ("x" * 41, "unnamed"), ("", "unnamed")):
        receipt = door.put(
            f"/v1/calibrations/{an_id()}", data=example_bytes(), headers=JSON | {"Steelyard-By": by}
        ).json
        entry = door.get(f"/v1/changes?after={receipt['log_number'] - 1}&limit=1").json["items"][0]
        assert entry["by_whom"] == noted


def test_a_wrong_reading_changes_the_verdict(door: FlaskClient) -> None:
    """200 kg x 0.1 kg, class III, at 150 kg: maintenance tolerance 3 d = 0.3 kg (NIST HB 44 Table 6; R 76 in service
    agrees), so 150.2 kg against pieces near nominal passes and 150.5 kg fails."""
    verdicts = {}
    for shown in ("150.2", "150.5"):
        body = example()
        reading_of(body, "increasing", load="150")["indication"]["value"] = shown
        verdicts[shown] = send(door, body).json["as_found"]

    assert verdicts == {"150.2": "pass", "150.5": "fail"}


def test_a_failed_calibration_says_do_not_use_at_once(client: FlaskClient) -> None:
    body = example()
    reading_of(body, "increasing", load="150")["indication"]["value"] = "150.5"

    receipt = send(client, body).json
    use = client.get("/v1/devices/A-04/use?on=2026-11-25").json

    assert (receipt["as_left"], receipt["standing"]) == ("fail", "released")
    assert use["may"] == "do not use"
    assert "failed" in [why["code"] for why in use["why"]]


def test_the_history_lists_every_visit_newest_first_and_an_unknown_device_is_not_found(client: FlaskClient) -> None:
    older = example()
    older["performed"] = {"start": "2026-03-01T10:00:00-07:00", "end": "2026-03-01T10:40:00-07:00"}
    send(client, example_bytes())
    send(client, older)

    items = client.get("/v1/devices/A-04/history").json["items"]

    assert [i["performed_on"] for i in items] == ["2026-11-24", "2026-03-01"]
    assert client.get("/v1/devices/Z-99/history").status_code == 404
    assert send(client, example() | {"device": "Z-99"}).status_code == 201
    assert [(i["device"], i["device_on_register"]) for i in client.get("/v1/devices/Z-99/history").json["items"]] == [
        ("Z-99", False)
    ]
    assert client.get("/v1/devices/A-01/history").json == {"device": "A-01", "items": []}


def test_what_the_ward_needs_is_stated_beside_the_verdict(client: FlaskClient) -> None:
    ward = client.get("/v1/wards/QG-CDU").json["record"]
    limit = {"mass": {"value": "0.01", "unit": "kg"}, "source": "ward agreement 12"}
    change(client, "wards/QG-CDU", "2024-01-01", ward | {"clinical_limit": limit}, If_Match="*")
    calibration = an_id()

    send(client, example_bytes(), calibration)
    kept = client.get(f"/v1/calibrations/{calibration}?site=QG").json

    stated = kept["working"]["as_found"]["clinical"]
    assert (stated["ward"], stated["source"], stated["limit_kg"]) == ("QG-CDU", "ward agreement 12", "0.01")
    assert stated["answer"] in ("not met", "cannot say")
    assert kept["as_found"] == "pass"


def test_readings_of_the_special_tests_are_taken_and_judged(client: FlaskClient) -> None:
    body, calibration = example(), an_id()
    sent = body["as_found"]["readings"]
    loaded = next(r for r in sent if r["test"] == "increasing" and r.get("pieces"))
    number = max(r["seq"] for r in sent)
    for minutes in (0, 15, 30):
        number += 1
        sent.append(loaded | {"seq": number, "test": "creep", "minutes": minutes})
    sent.append(loaded | {"seq": number + 1, "test": "tare", "tare": {"value": "20.0", "unit": "kg"}})
    sent.append(
        {"seq": number + 2, "test": "return to zero", "indication": {"value": "0.0", "unit": "kg"}, "minutes": 30}
    )

    answer = send(client, body, calibration)

    assert (answer.status_code, answer.json["as_found"], answer.json["flags"]) == (201, "pass", [])
    tests = client.get(f"/v1/calibrations/{calibration}?site=QG").json["working"]["as_found"]["tests"]
    assert {t["test"]: t["verdict"] for t in tests if not t["required"]}.items() >= {
        "creep": "pass", "tare": "pass", "return to zero": "pass",
    }.items()  # fmt: skip
