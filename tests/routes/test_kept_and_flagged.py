"""A measurement made in the field cannot be repeated as found: what is doubtful is kept, flagged, and left provisional."""

from collections.abc import Callable
from typing import Any

import pytest
from flask.testing import FlaskClient

from tests.doors import an_id, change, example, reading_of, resolved, send, without

Body = dict[str, Any]
LARGE = [f"FS1-20-{n:02d}" for n in range(1, 11)]


def changed(**fields: Any) -> Callable[[], Body]:
    return lambda: example() | fields


def off_grid() -> Body:
    body = example()
    reading_of(body, "increasing", load="100")["indication"]["value"] = "99.95"
    return body


def unknown_weight() -> Body:
    body = example()
    reading_of(body, "increasing", load="50")["pieces"][0] = "FS9-20-01"
    return body


def over_capacity() -> Body:
    body = example()
    placed = {
        "load": {"value": "220", "unit": "kg"},
        "pieces": [*LARGE, "FS1-10", "FS1-5", "FS1-2-A", "FS1-2-B", "FS1-1"],
    }
    reading_of(body, "increasing", load="200").update(placed, indication={"value": "220.0", "unit": "kg"})
    return body


def shown_far_above_max() -> Body:
    body = example()
    reading_of(body, "increasing", load="50")["indication"]["value"] = "900.0"
    return body


def not_shown() -> Body:
    body = example()
    reading_of(body, "increasing", load="50")["indication"] = {"value": "110.2", "unit": "[lb_av]"}
    return body


def adjusted_and_not_read_again() -> Body:
    return without(example("calibration-fail-adjusted"), "as_left")


def nothing_as_found() -> Body:
    return without(example("calibration-fail-adjusted"), "as_found")


def a_person() -> Body:
    body = example()
    body["informed"] = {"role": "told Mrs Quill, patient 12345678", "at": "2026-11-24T10:50:00-07:00"}
    return body


def repeats_missing() -> Body:
    body = example()
    body["as_found"]["readings"] = [r for r in body["as_found"]["readings"] if r["test"] != "repeatability"]
    return body


def load_differs() -> Body:
    body = example()
    reading_of(body, "increasing", load="50")["load"]["value"] = "60"
    return body


KEPT: dict[str, tuple[Callable[[], Body], str, str]] = {
    "an unknown device": (changed(device="Z-99"), "unknown-device", "#/device"),
    "an unknown technician": (changed(technicians=["T-99"]), "unknown-technician", "#/technicians/0"),
    "an unknown ward": (changed(ward="QG-NOWHERE"), "unknown-ward", "#/ward"),
    "an unknown site": (changed(site="ZZ"), "unknown-site", "#/site"),
    "an unknown weight": (unknown_weight, "no-reference-value", "#/as_found/readings/4"),
    "a stale definition": (changed(device_revision=7), "stale-definition", "#/device_revision"),
    "a reading off the grid": (off_grid, "off-grid", "#/as_found/readings/5"),
    "a load above the capacity": (over_capacity, "over-capacity", "#/as_found/readings/7"),
    "a reading far above Max": (shown_far_above_max, "over-capacity", "#/as_found/readings/4"),
    "a unit that the scale does not show": (not_shown, "no-such-range", "#/as_found/readings/4"),
    "pieces that do not add up": (load_differs, "load-differs-from-pieces", "#/as_found/readings/4"),
    "missing as-left readings": (adjusted_and_not_read_again, "as-left-missing", "#/as_left"),
    "missing as-found readings": (nothing_as_found, "as-found-missing", "#/as_found"),
    "a required test left out": (repeats_missing, "test-missing", "#/as_found"),
    "a visit that ends before it begins": (
        changed(performed={"start": "2026-11-24T10:00:00-07:00", "end": "2026-11-24T09:00:00-07:00"}),
        "ends-before-start", "#/performed",
    ),
    "a visit that ends after it arrived": (
        changed(performed={"start": "2026-11-24T10:00:00-07:00", "end": "2026-11-26T09:00:00-07:00"}),
        "performed-in-future", "#/performed/end",
    ),
    "a text that looks like a person's": (a_person, "looks-like-a-person", "#/informed/role"),
    "pieces left behind": (changed(pieces_counted={"out": 12, "back": 11}), "pieces-missing", "#/pieces_counted"),
    "no reason for an attempt": (
        lambda: without(example("calibration-not-tested"), "reasons"), "reason-missing", "#/reasons",
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", KEPT)
def test_it_is_kept_with_its_flag_provisional_and_without_a_certificate(door: FlaskClient, case: str) -> None:
    make, code, pointer = KEPT[case]
    calibration, body = an_id(), make()

    answer = send(door, body, calibration)

    assert answer.status_code == 201
    receipt = answer.json
    assert (receipt["standing"], receipt.get("certificate")) == ("provisional", None)
    flag = next(f for f in receipt["flags"] if f["code"] == code)
    assert flag["pointer"] == pointer
    assert len(flag["sentence"]) > 20
    read = door.get(f"/v1/calibrations/{calibration}").json
    assert (read["content"], read["flags"], read["standing"]) == (body, receipt["flags"], "provisional")


@pytest.mark.parametrize("case", [name for name in KEPT if "missing" not in name and "reason" not in name])
def test_a_flags_pointer_resolves_in_what_was_sent(door: FlaskClient, case: str) -> None:
    body = KEPT[case][0]()

    flags = send(door, body).json["flags"]

    for flag in flags:
        resolved(body, flag["pointer"])


def test_what_was_typed_stands_in_no_flag_and_in_no_answer_on_use(client: FlaskClient) -> None:
    """A flag's sentence is printed and stays when a text is hidden or redacted (C-11)."""
    typed = "Somebody Quill, in the bed"
    body = example() | {
        "identity": [{"item": "serial", "matches": False, "seen": typed}],
        "checks": [{"item": typed, "result": "not in order", "text": typed}],
        "remarks": typed,
        "setup": {"tested_at": typed, "level": False},
        "informed": {"role": typed, "at": "2026-11-24T10:50:00-07:00"},
    }
    reading_of(body, "repeatability").update(excluded=typed, remark=typed)
    for number, reading in enumerate(r for r in body["as_found"]["readings"] if r["test"] == "repeatability"):
        reading["pieces"] = reading["pieces"][: -1 if number else None]  # so that the one left out is not taken again

    kept = send(client, body).json

    assert {"identity-differs", "check-not-in-order", "excluded-not-repeated"} <= {f["code"] for f in kept["flags"]}
    assert typed not in str(kept)
    assert typed not in str(client.get("/v1/devices/A-04/use?on=2026-11-25").json)
    read = client.get(f"/v1/calibrations/{kept['calibration']}").json
    assert typed in str(read.pop("content"))
    assert typed not in str(read)


NOT_JUDGED = (
    "an unknown weight", "a reading off the grid", "a load above the capacity", "a unit that the scale does not show",
)  # fmt: skip


@pytest.mark.parametrize("case", NOT_JUDGED)
def test_what_cannot_be_judged_is_undecided_and_never_a_pass(door: FlaskClient, case: str) -> None:
    receipt = send(door, KEPT[case][0]()).json

    assert receipt["as_found"] == "undecided"


def test_an_adjusted_scale_that_was_not_read_again_is_undecided_as_left(door: FlaskClient) -> None:
    receipt = send(door, adjusted_and_not_read_again()).json

    assert (receipt["as_found"], receipt["as_left"]) == ("fail", "undecided")


def test_an_expired_certificate_of_a_piece_is_flagged_on_the_day_after_its_last(client: FlaskClient) -> None:
    piece = client.get("/v1/weights/FS1-10?on=2026-11-24").json["record"] | {"code": "LOAN-10"}
    certificate = {
        "number": "LAB-LOAN", "laboratory": "a laboratory", "calibrated_on": "2025-11-20", "issued_on": "2025-11-21",
        "valid_from": "2025-11-21", "valid_to": "2026-11-23",
        "pieces": [{"piece": "LOAN-10", "as_left": {"value": "10.00001", "unit": "kg"},
                    "expanded_uncertainty": {"value": "0.00016", "unit": "kg"}, "k": "2"}],
    }  # fmt: skip
    assert change(client, "weights/LOAN-10", "2025-11-01", piece).status_code == 201
    assert change(client, "weight-certificates/LAB-LOAN", "2025-11-21", certificate).status_code == 201
    body = without(example(), "weight_set")
    reading_of(body, "increasing", load="50")["pieces"][2] = "LOAN-10"

    after = send(client, body).json
    body["performed"] = {"start": "2026-11-23T10:09:00-07:00", "end": "2026-11-23T10:56:00-07:00"}
    on_its_last_day = send(client, body).json

    assert [f["code"] for f in after["flags"]] == ["no-reference-value"]
    assert "LOAN-10" in after["flags"][0]["sentence"]
    assert (after["standing"], on_its_last_day["standing"], on_its_last_day["flags"]) == ("provisional", "released", [])


@pytest.mark.parametrize("sent_at", ["yesterday", "", "2026-11-25 12:00", "2026-11-25T12:00:00", "1764072000", "\xff"])
def test_a_moment_of_sending_that_cannot_be_read_is_noted_and_holds_nothing(client: FlaskClient, sent_at: str) -> None:
    calibration = an_id()

    answer = send(client, example(), calibration, Steelyard_Sent_At=sent_at)

    (note,) = [n for n in answer.json["notes"] if n["code"] == "sent-at-not-read"]
    assert (answer.status_code, answer.json["standing"], answer.json["flags"]) == (201, "released", [])
    assert note["sentence"].startswith("The moment of sending (Steelyard-Sent-At) could not be read")
    assert "yesterday" not in answer.get_data(as_text=True)
    assert note in client.get(f"/v1/calibrations/{calibration}").json["notes"]


def test_a_moment_of_sending_that_cannot_be_read_is_noted_when_it_is_sent_again(door: FlaskClient) -> None:
    calibration = an_id()
    first = send(door, example(), calibration, Steelyard_Sent_At="2026-11-25T12:00:00Z").json

    again = [send(door, example(), calibration, Steelyard_Sent_At="yesterday").json for _ in range(2)]

    assert "sent-at-not-read" not in [note["code"] for note in first["notes"]]
    assert [[n["code"] for n in a["notes"]].count("sent-at-not-read") for a in again] == [1, 1]
    assert again[0]["notes"][:-1] == first["notes"]


@pytest.mark.parametrize("by", ["", "   ", "x" * 41, "T\xe9", "\xff"])
def test_a_sender_that_cannot_be_read_is_noted_and_unnamed_in_the_log(client: FlaskClient, by: str) -> None:
    answer = send(client, example(), Steelyard_By=by)

    (note,) = [n for n in answer.json["notes"] if n["code"] == "sent-by-not-read"]
    entries = client.get(f"/v1/changes?after={answer.json['log_number'] - 1}").json["items"]
    assert (answer.status_code, answer.json["flags"], entries[0]["by_whom"]) == (201, [], "unnamed")
    assert "Accepted: a code of 1 to 40" in note["sentence"]


def test_a_sender_of_forty_characters_or_none_is_not_noted(door: FlaskClient) -> None:
    named, unnamed = send(door, example(), Steelyard_By="x" * 40), send(door, example())

    assert [n for answer in (named, unnamed) for n in answer.json["notes"]] == []


@pytest.mark.parametrize(("sent_at", "flagged"), [
    ("2026-11-25T11:58:00Z", False), ("2026-11-25T11:57:59Z", True), ("2026-11-25T12:02:00+00:00", False),
    ("2026-11-25T12:02:01+00:00", True), ("2025-11-25T12:00:00+00:00", True),
])  # fmt: skip
def test_a_clock_more_than_two_minutes_off_is_flagged(client: FlaskClient, sent_at: str, flagged: bool) -> None:
    """120 s is a house choice, without a source."""
    receipt = send(client, example(), Steelyard_Sent_At=sent_at).json

    assert ("clock-off" in [f["code"] for f in receipt["flags"]]) is flagged
    assert receipt["standing"] == ("provisional" if flagged else "released")


def test_several_doubts_are_all_flagged_at_once(client: FlaskClient) -> None:
    body = off_grid() | {"ward": "QG-NOWHERE", "device_revision": 7, "remarks": "Patient B. Example was in the bed"}

    flags = send(client, body).json["flags"]

    assert {f["code"] for f in flags} == {"off-grid", "unknown-ward", "stale-definition", "looks-like-a-person"}


def test_a_provisional_pass_lifts_nothing_and_a_provisional_fail_acts_at_once(client: FlaskClient) -> None:
    """Bad news acts on receipt, good news on release (design decision)."""
    flagged_pass = example() | {"device_revision": 7}
    flagged_fail = example() | {"device_revision": 7}
    reading_of(flagged_fail, "increasing", load="150")["indication"]["value"] = "150.9"

    send(client, flagged_pass)
    after_pass = client.get("/v1/devices/A-04/use?on=2026-11-25").json
    send(client, flagged_fail)
    after_fail = client.get("/v1/devices/A-04/use?on=2026-11-25").json

    assert after_pass["may"] == "not proven"
    assert after_fail["may"] == "do not use"
    assert after_fail["why"][0]["code"] == "failed-not-reviewed"


def test_the_app_verdict_is_kept_beside_ours_and_never_used(client: FlaskClient) -> None:
    receipt = send(client, example() | {"app_verdict": {"as_found": "fail", "as_left": "fail"}}).json

    assert (receipt["as_found"], receipt["as_left"], receipt["standing"]) == ("pass", "pass", "released")
    assert [n["code"] for n in receipt["notes"]].count("app-verdict-differs") == 2
