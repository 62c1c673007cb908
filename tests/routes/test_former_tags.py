"""Former tags: each has a page that points on, so that none may be the device's own, stand twice, or be another's."""

from typing import Any

import pytest
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from tests.doors import change
from tests.filled_record import TODAY

ON = f"?on={TODAY.isoformat()}"


def put(client: FlaskClient, tag: str, *former: str, serial: str = "N-1", day: str = "2026-06-01") -> TestResponse:
    """Put a device on the register: A-04 in everything but its tags and its serial."""
    record: dict[str, Any] = client.get(f"/v1/devices/A-04{ON}").json["record"]
    changed = record | {"tag": tag, "serial": serial, "previous_tags": list(former)}
    return change(client, f"devices/{tag}", day, changed)


def serial_of(client: FlaskClient, tag: str) -> str:
    found: str = client.get(f"/v1/devices/{tag}{ON}").json["record"]["serial"]
    return found


@pytest.mark.parametrize("former", ["N-1", "n-1", "N 1", "N.1"])
def test_a_former_tag_that_folds_to_the_tag_itself_is_refused(client: FlaskClient, former: str) -> None:
    answer = put(client, "N-1", "O-9", former)

    assert answer.status_code == 422
    (fault,) = answer.json["errors"]
    assert fault["pointer"] == "#/record/previous_tags/1"
    assert fault["detail"] == (
        f"Found {former!r}, whose address d/n-1/ is that of the tag 'N-1' of this device; leave it out."
    )


def test_two_former_tags_that_fold_to_one_address_are_refused(client: FlaskClient) -> None:
    answer = put(client, "N-1", "O-9", "P-9", "o.9", "O-9")

    assert {e["pointer"]: "its former tag 'O-9'" in e["detail"] for e in answer.json["errors"]} == {
        "#/record/previous_tags/2": True, "#/record/previous_tags/3": True,
    }  # fmt: skip


@pytest.mark.parametrize("former", ["A-04", "a 04"])
def test_a_former_tag_that_is_the_tag_of_another_scale_is_refused_and_names_it(
    client: FlaskClient, former: str
) -> None:
    serial = serial_of(client, "A-04")

    answer = put(client, "N-1", "O-9", former)

    assert (answer.status_code, answer.json["code"]) == (409, "address-taken")
    assert answer.json["facts"] == {"address": "d/a-04/", "holder": "A-04"}
    assert f"belongs to device 'A-04' (serial {serial}); this device has serial N-1." in answer.json["detail"]
    assert client.get(f"/v1/devices/N-1{ON}").status_code == 404


def test_a_former_tag_that_is_a_former_tag_of_another_scale_is_refused_and_names_it(client: FlaskClient) -> None:
    put(client, "N-1", "O-9")

    answer = put(client, "N-2", "o.9", serial="N-2")

    assert answer.json["facts"] == {"address": "d/o-9/", "holder": "N-1"}
    assert "The former tag 'o.9' belongs to device 'N-1' (serial N-1)" in answer.json["detail"]


def test_a_scale_that_was_labelled_anew_is_claimed_by_one_device_only(client: FlaskClient) -> None:
    serial = serial_of(client, "A-04")
    first = put(client, "N-1", "A-04", serial=serial)

    second = put(client, "N-2", "A-04", serial=serial)

    assert first.status_code == 201
    assert (second.status_code, second.json["facts"]["holder"]) == (409, "N-1")


def test_every_former_tag_that_belongs_to_another_is_told_at_once(client: FlaskClient) -> None:
    put(client, "N-1", "O-9")

    answer = put(client, "N-2", "O-9", "A-04", serial="N-2")

    assert answer.json["facts"] == {"address": "d/o-9/, d/a-04/", "holder": "N-1, A-04"}


def test_a_tag_that_is_a_former_tag_of_another_scale_is_refused_and_names_it(client: FlaskClient) -> None:
    put(client, "N-1", "O-9")

    answer = put(client, "O-9", serial="O-9")

    assert (answer.status_code, answer.json["facts"]["holder"]) == (409, "N-1")


def test_a_scale_labelled_anew_twice_keeps_all_its_former_tags(client: FlaskClient) -> None:
    serial = serial_of(client, "A-04")
    statuses = [
        put(client, "N-1", "A-04", "A-00", serial=serial).status_code,
        put(client, "N-2", "A-04", "A-00", "N-1", serial=serial).status_code,
        put(client, "N-2", "A-04", "A-00", "N-1", serial=serial, day="2026-07-01").status_code,
    ]

    assert statuses == [201, 201, 200]


def test_of_two_tags_of_one_scale_only_the_newer_names_the_other(client: FlaskClient) -> None:
    serial = serial_of(client, "A-04")
    put(client, "N-1", "A-04", serial=serial)

    answer = put(client, "A-04", "N-1", serial=serial)

    assert (answer.status_code, answer.json["facts"]["holder"]) == (409, "N-1")
    assert "has 'A-04' as a former tag" in answer.json["detail"]


def test_a_former_tag_that_was_taken_back_is_free_for_the_scale_it_belongs_to(client: FlaskClient) -> None:
    serial = serial_of(client, "A-04")
    put(client, "N-1", "A-04", serial=serial)
    put(client, "N-1", serial=serial)

    answer = put(client, "N-2", "A-04", serial=serial)

    assert answer.status_code == 201
