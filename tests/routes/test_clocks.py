"""A wrong clock on the phone: measured, told, corrected beside what was sent, and nothing of what was sent is altered.

Moments by hand: the service's clock stands at 2026-11-25T12:00:00Z in these tests.
"""

from typing import Any

import pytest
from flask.testing import FlaskClient

from tests.doors import an_id, example, reading_of, send, without


def codes(flags: list[dict[str, Any]]) -> set[str]:
    return {flag["code"] for flag in flags}


@pytest.mark.parametrize(("sent_at", "start", "corrected"), [
    # The phone is a year and a day behind: 366 days, because 2026-11-25 minus 366 days is 2025-11-24.
    ("2025-11-24T12:00:00Z", "2025-11-23T10:09:00-07:00", "2026-11-24T10:09:00-07:00"),
    # The phone is 400 days ahead.
    ("2027-12-30T12:00:00Z", "2027-12-29T10:09:00-07:00", "2026-11-24T10:09:00-07:00"),
    # The phone is 2 min 1 s behind.
    ("2026-11-25T11:57:59Z", "2026-11-24T10:09:00-07:00", "2026-11-24T10:11:01-07:00"),
])  # fmt: skip
def test_a_visit_under_a_wrong_clock_has_its_corrected_moments_beside_those_sent(
    client: FlaskClient, sent_at: str, start: str, corrected: str
) -> None:
    calibration = an_id()
    body = example() | {"performed": {"start": start, "end": start[:11] + "10:56:00-07:00"}}

    receipt = send(client, body, calibration, Steelyard_Sent_At=sent_at).json

    assert "clock-off" in codes(receipt["flags"])
    assert "performed-in-future" not in codes(receipt["flags"])
    read = client.get(f"/v1/calibrations/{calibration}").json
    assert (read["performed_from"], read["content"]["performed"]["start"]) == (start, start)
    assert read["corrected_from"] == corrected


def test_a_clock_that_is_right_corrects_nothing_and_its_offset_is_told(client: FlaskClient) -> None:
    calibration = an_id()
    send(client, example(), calibration, Steelyard_Sent_At="2026-11-25T11:58:00.250Z")

    read = client.get(f"/v1/calibrations/{calibration}").json

    assert read["clock_offset_seconds"] == "119.750"
    assert {"corrected_from", "corrected_to"} & set(read) == set()


def test_a_resend_under_a_mended_clock_does_not_change_what_was_measured_first(client: FlaskClient) -> None:
    calibration = an_id()
    send(client, example(), calibration, Steelyard_Sent_At="2026-11-25T11:00:00Z")

    send(client, example(), calibration, Steelyard_Sent_At="2026-11-25T12:00:00Z")

    assert client.get(f"/v1/calibrations/{calibration}").json["clock_offset_seconds"] == "3600.000"


@pytest.mark.parametrize(("end", "sent_at", "flagged"), [
    ("2026-11-25T12:05:00Z", None, False), ("2026-11-25T12:05:01Z", None, True),
    ("2026-11-25T13:05:00Z", "2026-11-25T13:00:00Z", False), ("2026-11-25T13:05:01Z", "2026-11-25T13:00:00Z", True),
])  # fmt: skip
def test_the_future_begins_five_minutes_ahead_of_the_service_once_the_clock_is_corrected(
    door: FlaskClient, end: str, sent_at: str | None, flagged: bool
) -> None:
    """300 s is a house choice, without a source."""
    body = example() | {"performed": {"start": "2026-11-25T11:30:00Z", "end": end}}

    receipt = send(door, body, **({"Steelyard_Sent_At": sent_at} if sent_at else {})).json

    assert ("performed-in-future" in codes(receipt["flags"])) is flagged


def test_a_visit_before_the_register_knows_the_scale_is_told_from_one_to_a_scale_it_does_not_know(
    door: FlaskClient,
) -> None:
    known_from = door.get("/v1/devices/A-04/revisions").json["items"][0]["valid_from"]
    early = {"performed": {"start": "1999-11-24T10:09:00-07:00", "end": "1999-11-24T10:56:00-07:00"}}

    flags = send(door, example() | early).json["flags"]
    unknown = send(door, example() | early | {"device": "Z-99"}).json["flags"]

    flag = next(f for f in flags if f["code"] == "before-known-device")
    assert (flag["pointer"], flag["facts"]["known_from"]) == ("#/device", known_from)
    assert "unknown-device" not in codes(flags)
    assert {"unknown-device"} <= codes(unknown)
    assert "before-known-device" not in codes(unknown)


def test_a_piece_used_before_the_register_knows_it_is_flagged_at_its_first_reading(client: FlaskClient) -> None:
    piece = client.get("/v1/weights/FS1-10?on=2026-11-24").json["record"] | {"code": "NEW-10"}
    client.put("/v1/weights/NEW-10", json={"valid_from": "2026-11-25", "record": piece})
    body = without(example(), "weight_set")
    reading_of(body, "increasing", load="50")["pieces"][2] = "NEW-10"

    flags = send(client, body).json["flags"]

    flag = next(f for f in flags if f["code"] == "before-known-weight")
    assert (flag["pointer"], flag["facts"]) == (
        "#/as_found/readings/4", {"weight": "NEW-10", "known_from": "2026-11-25"},
    )  # fmt: skip


@pytest.mark.parametrize("sent_at", ["1900-01-01T00:00:00Z", "9990-12-31T23:59:59Z"])
@pytest.mark.parametrize("year", ["1900", "9990"])
def test_no_clock_is_so_wrong_that_the_visit_is_lost(door: FlaskClient, sent_at: str, year: str) -> None:
    calibration = an_id()
    body = example() | {"performed": {"start": f"{year}-06-01T10:00:00Z", "end": f"{year}-06-01T11:00:00Z"}}

    assert send(door, body, calibration, Steelyard_Sent_At=sent_at).status_code == 201

    read = door.get(f"/v1/calibrations/{calibration}").json
    assert read["performed_from"] == f"{year}-06-01T10:00:00Z"
