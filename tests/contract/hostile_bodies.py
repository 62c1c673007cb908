"""Bodies that somebody might send to hurt, by name: numbers, nesting, encodings, names, texts, shapes, sizes.

The traps are those of common JSON test collections, of RFC 8259 and of the marshmallow and decimal libraries; the bodies
are ours.
"""

import json
from typing import Any

from tests.doors import example, reading_of

MORE_THAN_TAKEN = 3 * 1024 * 1024


def hostile_bodies() -> dict[str, bytes]:
    """Return every body under its name."""
    return {**_not_json(), **_numbers(), **_nested(), **_texts(), **_names(), **_types(), **_shapes(), **_large()}


def _not_json() -> dict[str, bytes]:
    good = json.dumps(example()).encode()
    texts = {
        "nothing": b"",
        "a space": b" ",
        "a comma": b",",
        "a half object": b'{"schema":',
        "a half string": b'{"schema": "cal',
        "two objects": good + good,
        "an object and a comma": good + b",",
        "an object and a null": good + b"\x00",
        "single quotes": b"{'schema': 'calibration/1'}",
        "a bare name": b"{schema: 1}",
        "a comma at the end": b'{"a": 1,}',
        "a comment": b'{"a": 1 /* one */}',
        "a line comment": b'{"a": 1} // one',
        "hash comment": b'# a\n{"a": 1}',
        "true in capitals": b"TRUE",
        "None": b"None",
        "undefined": b"undefined",
        "a form": b"schema=calibration%2F1",
        "xml": b"<calibration/>",
        "yaml": b"schema: calibration/1\nsite: QG\n",
        "an archive": b"PK\x03\x04" + bytes(200),
        "gzip": b"\x1f\x8b\x08" + bytes(60),
        "a picture": b"\x89PNG\r\n\x1a\n" + bytes(60),
        "nulls": bytes(500),
        "all bytes": bytes(range(256)),
        "a byte order mark": b"\xef\xbb\xbf" + good,
        "only a byte order mark": b"\xef\xbb\xbf",
        "utf-16": good.decode().encode("utf-16"),
        "utf-16-le": good.decode().encode("utf-16-le"),
        "utf-16-be": good.decode().encode("utf-16-be"),
        "utf-32": good.decode().encode("utf-32"),
        "latin-1": '{"schema": "é"}'.encode("latin-1"),
        "overlong slash": b'{"a": "\xc0\xaf"}',
        "a surrogate in utf-8": b'{"a": "\xed\xa0\x80"}',
        "cut utf-8": b'{"a": "\xe2\x82"}',
        "beyond unicode": b'{"a": "\xf5\x80\x80\x80"}',
        "a lone continuation": b'{"a": "\x80"}',
        "a vertical tab between": b'{\x0b"a": 1}',
        "no-break space between": '{\u00a0"a": 1}'.encode(),
        "a raw line feed in a text": b'{"a": "one\ntwo"}',
        "a raw tab in a text": b'{"a": "one\ttwo"}',
        "an escape of nothing": b'{"a": "\\x41"}',
        "half an escape": b'{"a": "\\u00"}',
        "an escape at the end": b'{"a": "\\',
        "a lone quote": b'"',
        "brackets crossed": b'{"a": [}]',
        "closed twice": b"{}}",
        "a colon too many": b'{"a":: 1}',
        "a name without a value": b'{"a"}',
        "a value without a name": b"{1}",
    }
    return {f"not JSON: {name}": body for name, body in texts.items()}


def _numbers() -> dict[str, bytes]:
    numbers = (
        "1E+999999",
        "1e999999999999",
        "-1E-999999",
        "1" * 5000,
        "0." + "0" * 5000 + "1",
        "1e-324",
        "NaN",
        "Infinity",
        "-Infinity",
        "+1",
        "01",
        "-01",
        ".5",
        "5.",
        "0x10",
        "1_000",
        "--1",
        "-",
        "1e",
        "1e+",
        "١٢",
        "9" * 33,
        "1.0",
        "-0",
        "-0.0",
        "1e2",
        "9007199254740993",
    )
    found = {}
    for number in numbers:
        body = json.dumps(example()).replace('"seq": 1,', f'"seq": {number},', 1)
        found[f"number: seq {number[:24]}"] = body.encode()
    for text in (
        *numbers,
        " 1",
        "1 ",
        "1,5",
        "1'000",
        "",
        "1/2",
        "１２",
        "1.2.3",
        "kg",
        "1" * 10,
        "0." + "1" * 10,
        "1e1",
        "∞",
        "½",
        "12\u00a0",
    ):
        body = example()
        reading_of(body, "increasing")["indication"]["value"] = text
        found[f"number: value {text[:24]!r}"] = json.dumps(body).encode()
    return found


def _nested() -> dict[str, bytes]:
    found = {}
    for depth in (21, 100, 990, 1000, 5000, 100_000):
        found[f"nested: {depth} lists"] = b"[" * depth + b"]" * depth
        found[f"nested: {depth} objects"] = b'{"a":' * depth + b"1" + b"}" * depth
        found[f"nested: {depth} lists never closed"] = b"[" * depth
        found[f"nested: {depth} brackets in a text"] = b'{"a": "' + b"[" * min(depth, 4000) + b'"}'
    return found


def _texts() -> dict[str, bytes]:
    texts = {
        "null escaped": "\\u0000",
        "a lone high surrogate": "\\ud800",
        "a lone low surrogate": "\\udc00",
        "surrogates crossed": "\\udc00\\ud800",
        "right to left override": "\\u202e",
        "isolate": "\\u2066",
        "bell": "\\u0007",
        "delete": "\\u007f",
        "c1": "\\u0085",
        "line separator": "\\u2028",
        "a byte order mark inside": "\\ufeff",
        "not a character": "\\uffff",
        "zero width": "\\u200b" * 20,
        "combining marks": "a" + "\\u0301" * 400,
        "escape codes": "\\u001b[31m",
        "script": "<script>alert(1)<\\/script>",
        "sql": "'; DROP TABLE content; --",
        "template": "{{ 7 * 7 }} ${7*7} %s %n",
        "path": "../../../etc/passwd",
        "formula": "=1+1",
        "carriage return": "a\\r\\nSet-Cookie: a=b",
        "emoji": "\\ud83d\\ude00",
        "long": "x" * 4097,
        "very long": "x" * 100_000,
    }
    found = {}
    for field in ("remarks", "label", "device", "site"):
        for name, text in texts.items():
            body = json.dumps(example() | {field: "HERE"}).replace('"HERE"', f'"{text}"')
            found[f"text: {name} in {field}"] = body.encode()
    return found


def _names() -> dict[str, bytes]:
    good = json.dumps(example())
    names = {
        "a name twice": good.replace('"site":', '"site": "HM", "site":', 1),
        "a deep name twice": good.replace('"seq": 1,', '"seq": 1, "seq": 2,', 1),
        "an empty name": good[:-1] + ', "": 1}',
        "prototype": good[:-1] + ', "__proto__": {"a": 1}}',
        "a class": good[:-1] + ', "__class__": 1}',
        "a long name": good[:-1] + f', "{"n" * 5000}": 1}}',
        "a null name": good[:-1] + ', "\\u0000": 1}',
        "a lone surrogate": good[:-1] + ', "\\ud800": 1}',
        "many names": good[:-1] + "".join(f', "n{n}": 1' for n in range(3000)) + "}",
        "verdict": good[:-1] + ', "verdict": "pass"}',
        "standing": good[:-1] + ', "standing": "released"}',
        "digest": good[:-1] + ', "digest": "x"}',
        "received_at": good[:-1] + ', "received_at": "2026-01-01T00:00:00Z"}',
        "calibration": good[:-1] + ', "calibration": "x"}',
    }
    return {f"name: {name}": body.encode() for name, body in names.items()}


def _types() -> dict[str, bytes]:
    wrong: tuple[Any, ...] = (
        None,
        True,
        0,
        -1,
        1.5,
        "",
        "text",
        [],
        {},
        [[]],
        [None],
        {"value": None},
        {"value": 1, "unit": "kg"},
    )
    found = {}
    for name in ("schema", "performed", "technicians", "as_found", "environment", "pieces_counted"):
        for value in wrong:
            found[f"type: {name} is {json.dumps(value)}"] = json.dumps(example() | {name: value}).encode()
    for value in (None, True, 0, 1.5, "text", [], [{}], {"": {}}):
        found[f"type: the whole is {json.dumps(value)}"] = json.dumps(value).encode()
    return found


def _shapes() -> dict[str, bytes]:
    moments = (
        "2026-02-30T10:00:00Z",
        "2026-11-24T25:00:00Z",
        "2026-11-24T10:00:60Z",
        "2026-11-24T10:00:00",
        "2026-11-24",
        "24/11/2026",
        "now",
        "0000-01-01T00:00:00Z",
        "9999-12-31T23:59:59Z",
        "0001-01-01T00:00:00+14:00",
        "9999-12-31T23:59:59-14:00",
        "2026-11-24T10:00:00+99:99",
        "2026-11-24t10:00:00z",
        "2026-11-24 10:00:00Z",
        "1764000000",
        "2026-W48-2T10:00:00Z",
        "-2026-11-24T10:00:00Z",
        "2026-11-24T10:00:00.1234567891Z",
    )
    found = {}
    for moment in moments:
        body = example() | {"performed": {"start": moment, "end": moment}}
        found[f"shape: performed {moment}"] = json.dumps(body).encode()
    readings = example()["as_found"]["readings"]
    found["shape: 201 readings"] = json.dumps(example() | {"as_found": {"readings": readings * 11}}).encode()
    found["shape: every reading the same"] = json.dumps(
        example() | {"as_found": {"readings": [readings[0]] * 200}}
    ).encode()
    found["shape: 5000 technicians"] = json.dumps(example() | {"technicians": ["T-01"] * 5000}).encode()
    found["shape: unit of another case"] = json.dumps(example()).replace('"kg"', '"KG"').encode()
    found["shape: unit lb"] = json.dumps(example()).replace('"kg"', '"lb"').encode()
    return found


def _large() -> dict[str, bytes]:
    return {
        "large: a text": b'{"remarks": "' + b"x" * MORE_THAN_TAKEN + b'"}',
        "large: a list": b"[" + b"1," * (MORE_THAN_TAKEN // 2) + b"1]",
        "large: spaces": b" " * MORE_THAN_TAKEN + b"{}",
        "large: names": b"{" + b",".join(b'"%d":1' % n for n in range(MORE_THAN_TAKEN // 10)) + b"}",
        "large: just taken": b'{"remarks": "' + b"x" * (2 * 1024 * 1024 - 20) + b'"}',
    }
