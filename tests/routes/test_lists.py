"""Lists in parts, over the web: the same way everywhere. RFC 8288 for the Link field; keyset order for the rest."""

import json
import re
from collections.abc import Iterator
from typing import Any
from urllib.parse import urlsplit

import pytest
from flask.testing import FlaskClient

from api.settings import Settings
from tests.doors import JSON, an_id, change, example, send
from tests.filled_record import TODAY, door_to
from tests.routes.imports_asked import post_file

ON = f"on={TODAY.isoformat()}"
LINK = re.compile(r'<([^<>,]*)>; rel="([a-z]+)"')


def linked(answer: Any) -> dict[str, str]:
    field = answer.headers["Link"]
    found = {relation: target for target, relation in LINK.findall(field)}
    assert ", ".join(f'<{target}>; rel="{relation}"' for relation, target in found.items()) == field
    return found


def parts(client: FlaskClient, address: str) -> Iterator[list[Any]]:
    """The items of each part, followed by the Link field; `next` in the body says the same."""
    while True:
        answer = client.get(address)
        assert answer.status_code == 200, answer.get_data(as_text=True)
        yield answer.json["items"]
        following = linked(answer).get("next")
        assert (following is None) == ("next" not in answer.json)
        if following is None:
            return
        assert f"cursor={answer.json['next']}" in following
        address = following


def whole(client: FlaskClient, address: str) -> list[Any]:
    return [item for part in parts(client, address) for item in part]


def with_question(address: str, question: str) -> str:
    return f"{address}{'&' if '?' in address else '?'}{question}"


@pytest.fixture(scope="module")
def filled(door: FlaskClient) -> FlaskClient:
    """A service with several of everything that is listed."""
    sent = [send(door, example(), an_id()) for _ in range(3)]
    sent.append(send(door, example("calibration-fail-adjusted"), an_id()))
    sent.append(send(door, example() | {"ward": "QG-NOWHERE"}, an_id()))
    assert [answer.status_code for answer in sent] == [201] * 5
    for name in ("one", "two", "three"):
        send(door, example() | {"schema": "calibration/9"}, an_id())
        post_file(door, "Tag;Day\n", f"profile=old-spreadsheet&name={name}")
        key = {"held_by": "installation", "holder": f"APP-{name}", "scopes": ["read"], "sites": ["QG"]}
        assert door.post("/v1/keys", json=key).status_code == 201
        change(door, "wards/QG-PARTS", f"2026-01-0{len(name)}", A_WARD | {"name": name})
    return door


A_WARD = {
    "code": "QG-PARTS", "site": "QG", "name": "New ward", "use_tier": "monitoring", "call_role": "charge nurse",
    "call_number": "5100",
}  # fmt: skip
LISTS = (
    f"/v1/devices?{ON}", f"/v1/wards?{ON}", f"/v1/models?{ON}", f"/v1/weights?{ON}", "/v1/wards/QG-PARTS/revisions",
    "/v1/calibrations", "/v1/devices/A-04/history", f"/v1/due?{ON}", "/v1/quarantine", "/v1/imports", "/v1/keys",
)  # fmt: skip


@pytest.mark.parametrize("address", LISTS)
def test_parts_of_any_size_together_are_the_list(filled: FlaskClient, address: str) -> None:
    everything = filled.get(with_question(address, "limit=1000")).json["items"]
    assert len(everything) >= 2

    for limit in (1, 2, len(everything) - 1, len(everything), len(everything) + 1):
        found = list(parts(filled, with_question(address, f"limit={limit}")))
        assert [item for part in found for item in part] == everything
        assert all(len(part) == limit for part in found[:-1])
        assert 0 < len(found[-1]) <= limit


@pytest.mark.parametrize("address", LISTS)
def test_the_first_part_is_where_every_part_says_the_list_begins(filled: FlaskClient, address: str) -> None:
    first = filled.get(with_question(address, "limit=1"))
    second = filled.get(linked(first)["next"])

    assert filled.get(linked(second)["first"]).json["items"] == first.json["items"]
    assert urlsplit(linked(second)["first"]).path == urlsplit(address).path


@pytest.mark.parametrize("address", LISTS)
def test_a_forged_or_foreign_cursor_is_refused_with_the_way_out(filled: FlaskClient, address: str) -> None:
    cursor = filled.get(with_question(address, "limit=1")).json["next"]
    elsewhere = filled.get("/v1/technicians?limit=1&on=2026-11-25").json["next"]
    forged = cursor[:-1] + ("A" if cursor[-1] != "A" else "E")

    for wrong in (forged, elsewhere, "A", cursor + "A", cursor[:10]):
        answer = filled.get(with_question(address, f"cursor={wrong}"))
        assert (answer.status_code, answer.json["code"]) == (400, "cursor-not-accepted"), wrong
        assert "Begin again without it" in answer.json["detail"]


def test_a_cursor_of_other_filters_is_refused_and_a_cursor_outlives_a_change_of_limit(filled: FlaskClient) -> None:
    cursor = filled.get(f"/v1/devices?{ON}&site=QG&limit=2").json["next"]

    same = filled.get(f"/v1/devices?site=QG&{ON}&limit=3&cursor={cursor}")
    other = filled.get(f"/v1/devices?{ON}&site=HM&cursor={cursor}")
    without = filled.get(f"/v1/devices?{ON}&cursor={cursor}")

    assert (same.status_code, len(same.json["items"])) == (200, 3)
    assert {answer.json["code"] for answer in (other, without)} == {"cursor-not-accepted"}


def test_a_cursor_of_another_installation_is_refused(filled: FlaskClient, settings: Settings) -> None:
    cursor = filled.get(f"/v1/devices?{ON}&limit=1").json["next"]

    with door_to(settings) as other:
        answer = other.get(f"/v1/devices?{ON}&cursor={cursor}")

    assert (answer.status_code, answer.json["code"]) == (400, "cursor-not-accepted")


def test_a_text_that_can_be_no_cursor_is_a_wrong_question(filled: FlaskClient) -> None:
    for text in ("", "a b", "é", "%00", "A" * 601, "a=="):
        answer = filled.get("/v1/devices", query_string={"cursor": text})
        assert (answer.status_code, answer.json["code"]) == (400, "bad-question"), text


@pytest.mark.parametrize("address", LISTS)
def test_an_unknown_filter_is_refused_and_the_known_ones_are_named(filled: FlaskClient, address: str) -> None:
    answer = filled.get(with_question(address, "colour=blue"))

    (fault,) = answer.json["errors"]
    assert answer.status_code == 400
    assert fault["detail"].startswith("Unknown parameter; accepted: ")
    assert {"limit", "cursor"} <= set(fault["detail"].removeprefix("Unknown parameter; accepted: ")[:-1].split(", "))


def test_a_list_may_change_while_it_is_read_and_what_was_there_comes_once(client: FlaskClient) -> None:
    before = [item["key"] for item in whole(client, f"/v1/wards?{ON}")]
    found: list[str] = []

    for step, part in enumerate(parts(client, f"/v1/wards?{ON}&limit=2")):
        found += [item["key"] for item in part]
        for code in (f"AA-{step}", f"ZZ-{step}", f"QG-M{step}"):
            if step < 5:
                change(client, f"wards/{code}", "2024-10-01", A_WARD | {"code": code})

    assert [key for key in found if key in set(before)] == before
    assert len(found) == len(set(found))


def codes(client: FlaskClient, question: str) -> list[str]:
    return [item["calibration"] for item in whole(client, f"/v1/calibrations?{question}")]


def test_calibrations_are_narrowed_by_what_they_are_and_what_became_of_them(filled: FlaskClient) -> None:
    everything = whole(filled, "/v1/calibrations")
    assert len(everything) == 5
    told = {item["calibration"]: item for item in everything}

    def those(wanted: Any) -> list[str]:
        return [name for name, item in told.items() if wanted(item)]

    adjusted = example("calibration-fail-adjusted")
    for question, wanted in {
        f"device={adjusted['device']}": lambda item: item["device"] == adjusted["device"],
        f"site={example()['site']}": lambda item: item["site"] == example()["site"],
        "ward=QG-NOWHERE": lambda item: item.get("ward") == "QG-NOWHERE",
        "standing=provisional": lambda item: item["standing"] == "provisional",
        "standing=released": lambda item: item["standing"] == "released",
        "verdict=pass": lambda item: item.get("as_left", item.get("as_found")) == "pass",
        "as_found=fail": lambda item: item.get("as_found") == "fail",
        "flag=unknown-ward": lambda item: "unknown-ward" in item["flags"],
        "technician=T-01": lambda item: item["technician"] == "T-01",
        f"from={adjusted['performed']['start'][:10]}":
            lambda item: item["performed_on"] >= adjusted["performed"]["start"][:10],
        f"to={example()['performed']['start'][:10]}":
            lambda item: item["performed_on"] <= example()["performed"]["start"][:10],
        f"changed_after={everything[2]['log_number']}":
            lambda item: item["log_number"] > everything[2]["log_number"],
        "purpose=complaint": lambda item: item["purpose"] == "complaint",
        "outcome=completed": lambda item: item["outcome"] == "completed",
    }.items():  # fmt: skip
        assert codes(filled, f"{question}&limit=2") == those(wanted), question
    assert those(lambda item: item["standing"] == "provisional")
    assert those(lambda item: item.get("as_found") == "fail")
    assert codes(filled, "site=HM") == codes(filled, "from=2030-01-01") == []


def test_what_a_list_says_of_a_calibration_is_what_it_says_of_itself(filled: FlaskClient) -> None:
    for item in whole(filled, "/v1/calibrations"):
        kept = filled.get(f"/v1/calibrations/{item['calibration']}?site={item['site']}").json
        same = ("calibration", "site", "revision", "device", "device_on_register", "performed_on", "purpose", "outcome",
                "standing", "adjusted", "as_found", "as_left", "certificate")  # fmt: skip
        assert {name: item.get(name) for name in same} == {name: kept.get(name) for name in same}
        assert item["flags"] == list(dict.fromkeys(flag["code"] for flag in kept["flags"]))


def test_a_word_that_a_filter_does_not_know_is_refused(filled: FlaskClient) -> None:
    for question in ("standing=good", "verdict=fine", "from=yesterday", "changed_after=-1", "purpose=other"):
        answer = filled.get(f"/v1/calibrations?{question}")
        assert (answer.status_code, answer.json["code"]) == (400, "bad-question"), question


@pytest.mark.parametrize(("question", "path"), [
    ("ward=QG-CDU", "ward"), ("site=HM", "site"), ("state=in+service", "state"), ("model=COL-200", "model"),
])  # fmt: skip
def test_devices_are_narrowed_by_what_they_are(filled: FlaskClient, question: str, path: str) -> None:
    wanted = question.partition("=")[2].replace("+", " ")

    found = whole(filled, f"/v1/devices?{ON}&{question}")

    everything = whole(filled, f"/v1/devices?{ON}")
    assert found == [item for item in everything if item["record"][path] == wanted]
    assert 0 < len(found) <= len(everything)


def test_sets_and_weight_certificates_are_found_by_their_pieces(filled: FlaskClient) -> None:
    (held,) = whole(filled, f"/v1/weight-sets?{ON}&piece=FS1-10")
    spoken = whole(filled, f"/v1/weight-certificates?{ON}&piece=FS1-10")

    assert held["key"] == "FS-1"
    assert spoken
    assert all("FS1-10" in json.dumps(item["record"]) for item in spoken)


def test_what_changed_on_the_register_since_an_entry_is_listed_alone(client: FlaskClient) -> None:
    number = client.get("/v1/about").json["log_number"]
    client.put("/v1/wards/QG-PARTS", json={"valid_from": "2026-01-01", "record": A_WARD}, headers=JSON)

    assert [item["key"] for item in whole(client, f"/v1/wards?{ON}&changed_after={number}")] == ["QG-PARTS"]


def test_keys_and_imports_are_narrowed(filled: FlaskClient) -> None:
    assert [key["holder"] for key in whole(filled, "/v1/keys?holder=APP-two")] == ["APP-two"]
    assert whole(filled, "/v1/keys?state=revoked") == whole(filled, "/v1/imports?state=done") == []
    assert [told["name"] for told in whole(filled, "/v1/imports?state=received&limit=1")] == ["three", "two", "one"]
