"""Bad bodies: a clear answer with all faults at once, each pointing into what was sent, and nothing kept."""

import json
import time
from collections.abc import Iterator
from typing import Any

import pytest
from flask.testing import FlaskClient

from api.settings import Settings
from tests.doors import example, example_bytes, reading_of, resolved, send, without
from tests.filled_record import rows


@pytest.fixture(autouse=True)
def _nothing_is_kept(kept: Settings) -> Iterator[None]:
    before = rows(kept)
    yield
    assert rows(kept) == before


def faults(client: FlaskClient, body: Any) -> dict[str, list[dict[str, str]]]:
    """The faults of a body by pointer, after each pointer was followed into what was sent."""
    answer = send(client, body)
    assert (answer.status_code, answer.json["code"]) == (422, "wrong-shape"), answer.json
    sent = json.loads(body) if isinstance(body, bytes) else body
    found: dict[str, list[dict[str, str]]] = {}
    for fault in answer.json["errors"]:
        resolved(sent, fault["pointer"])
        found.setdefault(fault["pointer"], []).append(fault)
    return found


@pytest.mark.parametrize("unit", ["lb", "lbs", "LB", "pound", "kgs", "KG", "oz", "st", "", "[lb_av] "])
def test_a_unit_that_is_no_ucum_code_is_refused_with_what_would_be_accepted(door: FlaskClient, unit: str) -> None:
    body = example()
    reading_of(body, "increasing")["indication"]["unit"] = unit

    found = faults(door, body)

    (fault,) = found["#/as_found/readings/3/indication/unit"]
    assert fault["code"] == "unit-unknown"
    assert "[lb_av]" in fault["detail"]


def test_a_pound_is_hinted_at_by_its_code(door: FlaskClient) -> None:
    body = example()
    reading_of(body, "increasing")["indication"]["unit"] = "lb"

    (fault,) = faults(door, body)["#/as_found/readings/3/indication/unit"]

    assert "lb" in fault["detail"]
    assert "[lb_av]" in fault["detail"]


@pytest.mark.parametrize("number", ["10.1", "10", "-3", "0.10000000000000001", "12345678901234567890.5"])
def test_a_number_where_text_is_meant_is_refused_and_says_so(door: FlaskClient, number: str) -> None:
    body = json.dumps(example()).replace('"indication": {"value": "50.0"', f'"indication": {{"value": {number}', 1)

    found = faults(door, body.encode())

    (fault,) = found["#/as_found/readings/4/indication/value"]
    assert fault["code"] == "number-not-text"
    assert f'"{number}"' in fault["detail"]


@pytest.mark.parametrize("text", [
    "NaN", "Infinity", "-Infinity", "1e3", "1E+999999", "1_000", " 12", "12 ", "+5", "5.", ".5", "٣", "1,5", "0x10",
    "1234567890", "0.1234567890", "", "--1", "1 000", "½", "12\n",
])  # fmt: skip
def test_text_that_is_no_plain_decimal_is_refused(door: FlaskClient, text: str) -> None:
    body = example()
    reading_of(body, "increasing", load="50")["indication"]["value"] = text

    assert list(faults(door, body)) == ["#/as_found/readings/4/indication/value"]


@pytest.mark.parametrize("value", [None, True, [], {}, ["10.1"], {"value": "1"}, {"unit": "kg"}, "10.1 kg", 5,
                                   {"value": "1", "unit": "kg", "colour": 1}, {"parts": []}, {"parts": [{}, {}]},
                                   {"parts": [{"value": "7", "unit": "[lb_av]"}]},
                                   {"parts": [{"value": "7", "unit": "[lb_av]"}, {"value": "4", "unit": "kg"}], "value": "1"},
                                   {"parts": [{"value": "4", "unit": "[oz_av]"}, {"value": "7", "unit": "[lb_av]"}]},
                                   {"parts": {"value": "1"}}])  # fmt: skip
def test_what_is_no_mass_is_refused_where_it_stands(door: FlaskClient, value: Any) -> None:
    body = example()
    reading_of(body, "increasing", load="50")["indication"] = value

    found = faults(door, body)

    assert found
    assert all(pointer.startswith("#/as_found/readings/4/indication") for pointer in found)


def test_all_faults_come_at_once_each_at_its_place(door: FlaskClient) -> None:
    body = without(example(), "device") | {
        "schema": "calibration/one", "purpose": "for fun", "colour": "blue", "a/b~c": 1, "100 % sûr?": 1,
        "performed": {"start": "2026-11-24T10:09:00", "end": "24.11.2026"}, "technicians": [],
        "pieces_counted": {"out": 12.5, "back": "12"}, "remarks": "x" * 4001, "ward": None, "label": " L-1",
    }  # fmt: skip
    body["as_found"]["readings"][0]["test"] = "zero"
    body["as_found"]["readings"][3]["pieces"] = ["FS1-2-A", 5]
    body["as_found"]["readings"][4]["stable"] = "yes"
    body["as_found"]["readings"][5]["seq"] = 1.0

    found = faults(door, body)

    assert {pointer: sorted(f["code"] for f in fs) for pointer, fs in found.items()} == {
        "#": ["field-missing"], "#/schema": ["value-not-accepted"], "#/purpose": ["value-not-accepted"],
        "#/colour": ["field-unknown"], "#/a~1b~0c": ["field-unknown"], "#/100%20%25%20s%C3%BBr?": ["field-unknown"],
        "#/performed/start": ["value-not-accepted"], "#/performed/end": ["value-not-accepted"],
        "#/technicians": ["value-not-accepted"], "#/pieces_counted/out": ["value-not-accepted"],
        "#/pieces_counted/back": ["value-not-accepted"], "#/remarks": ["value-not-accepted"],
        "#/ward": ["value-not-accepted"], "#/label": ["value-not-accepted"],
        "#/as_found/readings/0/test": ["value-not-accepted"], "#/as_found/readings/3/pieces/1": ["value-not-accepted"],
        "#/as_found/readings/4/stable": ["value-not-accepted"], "#/as_found/readings/5/seq": ["value-not-accepted"],
    }  # fmt: skip
    assert found["#"][0]["detail"].startswith("device:")


def test_a_reading_number_that_stands_twice_is_refused(door: FlaskClient) -> None:
    body = example()
    body["as_found"]["readings"][7]["seq"] = 1

    assert list(faults(door, body)) == ["#/as_found/readings/7/seq"]


def test_a_reading_number_that_stands_twice_is_told_with_every_other_fault(door: FlaskClient) -> None:
    body = example() | {"purpose": "for fun"}
    body["as_found"]["readings"][7] |= {"seq": 1, "test": "zero"}
    body["as_found"]["readings"][8]["seq"] = True
    body["as_found"]["readings"][9] = None
    body["as_found"]["colour"] = "blue"

    assert {pointer: len(told) for pointer, told in faults(door, body).items()} == {
        "#/purpose": 1, "#/as_found/readings/7/seq": 1, "#/as_found/readings/7/test": 1, "#/as_found/readings/8/seq": 1,
        "#/as_found/readings/9": 1, "#/as_found/colour": 1,
    }  # fmt: skip


def test_a_list_of_readings_that_is_too_long_is_told_with_the_numbers_that_stand_twice(door: FlaskClient) -> None:
    body = example()
    body["as_found"]["readings"] = body["as_found"]["readings"][:1] * 201

    told = faults(door, body)

    assert told["#/as_found/readings"][0]["detail"] == "Found 201 items; accepted: a list of 1 to 200."
    assert "#/as_found/readings/1/seq" in told


def test_more_than_a_hundred_faults_are_cut_and_said_to_be(door: FlaskClient) -> None:
    answer = send(door, example() | {f"field {n}": 1 for n in range(150)})

    assert (answer.status_code, len(answer.json["errors"]), answer.json["errors_truncated"]) == (422, 100, True)


@pytest.mark.parametrize(("moment", "taken"), [
    ("2026-11-24T10:09:00", False), ("2026-11-24 10:09:00-07:00", False), ("2026-11-24T10:09:00-25:00", False),
    ("2026-11-24T24:00:00Z", False), ("2026-11-24T10:09-07:00", False), ("2026-02-30T10:09:00Z", False),
    ("0001-01-01T00:00:00+14:00", False), ("9999-12-31T23:59:59-12:00", False), (1764000000, False),
    ("2026-11-24T10:09:00-0700", False), ("٢٠٢٦-11-24T10:09:00Z", False),
])  # fmt: skip
def test_a_moment_without_its_offset_or_off_the_calendar_is_refused(
    door: FlaskClient, moment: Any, taken: bool
) -> None:
    found = faults(door, example() | {"performed": {"start": moment, "end": "2026-11-24T10:56:00-07:00"}})

    assert ("#/performed/start" in found) is not taken


NOT_JSON: dict[str, bytes] = {
    "NaN": b'{"a": NaN}',
    "Infinity": b'{"a": -Infinity}',
    "an exponent": b'{"a": 1e5}',
    "a huge exponent": b'{"a":1E+999999}',
    "nested 1200 deep": b"[" * 1200 + b"]" * 1200,
    "objects 1200 deep": b'{"a":' * 1200 + b"1" + b"}" * 1200,
    "nested 100,000 deep": b"[" * 100_000,
    "nested 21 deep": b"[" * 21 + b"]" * 21,
    "a name twice": b'{"a": 1, "a": 1}',
    "a name twice, deep": b'{"x": [{"a": 1, "\\u0061": 2}]}',
    "a byte order mark": b"\xef\xbb\xbf" + b"{}",
    "UTF-16": '{"a": 1}'.encode("utf-16"),
    "UTF-16 LE": '{"a": 1}'.encode("utf-16-le"),
    "UTF-32": '{"a": 1}'.encode("utf-32"),
    "Latin-1": '{"a": "é"}'.encode("latin-1"),
    "overlong UTF-8": b'{"a": "\xc0\xaf"}',
    "a surrogate in UTF-8": b'{"a": "\xed\xa0\x80"}',
    "a lone surrogate": b'{"a": "\\ud800"}',
    "a lone low one": b'{"a": "\\udfff"}',
    "a surrogate as name": b'{"\\ud800": 1}',
    "NUL": b'{"a": "\\u0000"}',
    "NUL as name": b'{"a\\u0000": 1}',
    "a raw NUL": b'{"a": "\x00"}',
    "a control character": b'{"a": "\\u0007"}',
    "turned text": '{"a": "\u202eevil"}'.encode(),
    "nothing": b"",
    "white space": b" \n",
    "two values": b"{} {}",
    "a trailing comma": b'{"a": 1,}',
    "a comment": b'{"a": 1 /* one */}',
    "single quotes": b"{'a': 1}",
    "an open text": b'{"a": "',
    "an open escape": b'{"a": "\\',
    "400,000 escaped quotes": b'"' + b'\\"' * 400_000,
    "a number of 10,000 digits": b'{"a": ' + b"9" * 10_000 + b"}",
    "a fraction of 10,000 digits": b'{"a": 0.' + b"9" * 10_000 + b"}",
    "30,000 members": b"[" + b"1," * 30_000 + b"1]",
    "a text of 20,000": b'{"a": "' + b"x" * 20_000 + b'"}',
}  # fmt: skip


@pytest.mark.parametrize("name", NOT_JSON)
def test_what_is_not_strict_json_is_refused_quickly_and_says_why(door: FlaskClient, name: str) -> None:
    started = time.perf_counter()
    answer = send(door, NOT_JSON[name])
    took = time.perf_counter() - started

    assert (answer.status_code, answer.json["code"]) == (400, "not-json")
    assert len(answer.json["errors"]) == 1
    assert answer.json["errors"][0]["detail"] == answer.json["detail"]
    assert took < 1


@pytest.mark.parametrize("name", [n for n in NOT_JSON if n not in ("nothing", "white space")])
def test_what_is_not_strict_json_is_refused_inside_a_good_body_too(door: FlaskClient, name: str) -> None:
    whole = example_bytes().rstrip().removesuffix(b"}") + b', "remarks": ' + NOT_JSON[name] + b"}"

    answer = send(door, whole)

    assert answer.status_code == 400


@pytest.mark.parametrize("size", [2 * 1024 * 1024 + 1, 5_000_000])
def test_a_body_that_is_too_large_is_refused_by_its_size(door: FlaskClient, size: int) -> None:
    answer = send(door, example_bytes() + b" " * (size - len(example_bytes())))

    assert (answer.status_code, answer.json["code"]) == (413, "too-large")


@pytest.mark.parametrize("field", ["device", "site", "ward", "label", "technicians"])
@pytest.mark.parametrize(
    "code", ["", " ", "a" * 41, "a\tb", "a\nb", "<b>", "é", "-A", "A-", "A\u00a01", "a'b", 'a"b', "..", "%41"]
)
def test_a_code_is_of_plain_letters_digits_and_few_marks(door: FlaskClient, field: str, code: str) -> None:
    found = faults(door, example() | {field: [code] if field == "technicians" else code})

    assert list(found) == [f"#/{field}/0" if field == "technicians" else f"#/{field}"]
