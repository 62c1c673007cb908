"""One visit sent under two ids is flagged on whichever comes later, and a person closes it. Own rules, no source."""

from datetime import UTC, datetime
from itertools import permutations
from typing import Any

import pytest
from flask.testing import FlaskClient

from api.records.visit_measured import at_the_same_time
from api.settings import Settings
from tests.doors import an_id, change, example, later, reading_of, send
from tests.filled_record import rows
from tests.lives import Body, act, kept, release, seen

CODE = "possible-duplicate"
ON = "?on=2026-11-25"


def installed_anew() -> Body:
    """The example's visit as another app sends it: other words, numbers, units and zeros, begun some minutes later."""
    body = example() | {"remarks": "typed again", "installation": {"id": "APP-99", "counter": 1}}
    body["performed"] = {"start": "2026-11-24T10:29:00-07:00", "end": "2026-11-24T10:45:00-07:00"}
    readings = body["as_found"]["readings"]
    for reading in readings:
        reading["seq"] += 100
    reading_of(body, "increasing", load="150")["load"] = {"value": "150000", "unit": "g"}
    body["as_found"]["readings"] = [*readings[1:], readings[0]]
    return body


def codes(record: Body) -> list[str]:
    return [flag["code"] for flag in record["flags"]]


def two(client: FlaskClient, first: Body | None = None, second: Body | None = None) -> tuple[str, Body]:
    """Send two visits; return the id of the first and the receipt of the second."""
    calibration = an_id()
    assert send(client, first or example(), calibration).status_code == 201
    return calibration, send(client, second or installed_anew()).json


def closed(client: FlaskClient, calibration: str, of: str, *, same: bool) -> Any:
    return act(
        client,
        calibration,
        "duplicate",
        {"of": of, "same_visit": same, "because": "Asked the technician of the visit."},
    )


@pytest.mark.parametrize("again", [example, installed_anew])
def test_the_same_visit_under_another_id_is_kept_flagged_and_waits(client: FlaskClient, again: Any) -> None:
    first, receipt = two(client, second=again())

    (flag,) = receipt["flags"]
    assert (flag["code"], flag["facts"], flag["pointer"]) == (CODE, {"calibration": first}, "#/performed")
    assert (receipt["standing"], receipt["as_found"], "certificate" in receipt) == ("provisional", "pass", False)
    assert (kept(client, first)["standing"], codes(kept(client, first))) == ("released", [])


def test_the_same_id_again_is_no_double_of_itself(client: FlaskClient) -> None:
    calibration, body = an_id(), example()

    answers = [send(client, body, calibration) for _ in range(3)]

    assert [(a.status_code, codes(a.json)) for a in answers] == [(201, []), (200, []), (200, [])]


def _other_reading(body: Body) -> None:
    reading_of(body, "increasing", load="150")["indication"]["value"] = "150.1"


def _other_scale(body: Body) -> None:
    body["device"] = "A-03"


def _other_site(body: Body) -> None:
    body["site"] = "HM"


def _two_hours_later(body: Body) -> None:
    body["performed"] = later(body, 2)["performed"]


def _one_reading_less(body: Body) -> None:
    body["as_found"]["readings"].pop()


@pytest.mark.parametrize(
    "changed",
    [_other_reading, _other_scale, _other_site, _two_hours_later, _one_reading_less],
    ids=lambda c: c.__name__,
)
def test_what_differs_in_what_was_measured_where_or_when_is_another_visit(client: FlaskClient, changed: Any) -> None:
    body = example()
    changed(body)

    assert CODE not in codes(two(client, second=body)[1])


@pytest.mark.parametrize(("start", "same"), [
    ("10:00", True), ("10:10", True), ("10:20", True), ("10:30", True), ("10:31", False),
    ("09:30", True), ("09:29", False),
])  # fmt: skip
def test_visits_overlap_or_begin_at_most_half_an_hour_apart(client: FlaskClient, start: str, same: bool) -> None:
    first, other = example(), example()
    first["performed"] = {"start": "2026-11-24T10:00:00-07:00", "end": "2026-11-24T10:10:00-07:00"}
    other["performed"] = {"start": f"2026-11-24T{start}:00-07:00", "end": f"2026-11-24T{start[:4]}9:00-07:00"}

    assert (CODE in codes(two(client, first, other)[1])) is same


def test_a_long_visit_is_found_by_one_within_it() -> None:
    day, hour = datetime(2026, 11, 24, tzinfo=UTC), datetime(2026, 11, 24, 20, tzinfo=UTC)

    assert at_the_same_time((hour, hour), (day, datetime(2026, 11, 24, 23, tzinfo=UTC)))


@pytest.mark.parametrize(("reasons", "same"), [(["in use"], True), (["not found"], False)])
def test_attempts_without_readings_are_the_same_where_their_reasons_are(
    client: FlaskClient, reasons: list[str], same: bool
) -> None:
    attempt = example("calibration-not-tested") | {"reasons": ["in use"]}

    assert (CODE in codes(two(client, attempt, attempt | {"reasons": reasons})[1])) is same


def test_scales_that_nobody_knows_are_told_apart_by_what_was_sent(client: FlaskClient) -> None:
    unknown = example() | {"device": "Z-99"}

    assert CODE in codes(two(client, unknown, unknown)[1])
    assert CODE not in codes(send(client, unknown | {"device": "Z-98"}).json)


def test_what_is_void_has_no_double(client: FlaskClient) -> None:
    calibration = an_id()
    send(client, example(), calibration)
    act(client, calibration, "void", {"because": "The wrong visit was sent."})

    assert codes(send(client, installed_anew()).json) == []


def test_whichever_comes_first_of_three_sendings_one_stands_and_the_others_wait(client: FlaskClient) -> None:
    told = []
    for number, order in enumerate(permutations([example(), installed_anew(), example() | {"remarks": "third"}])):
        day = -24 * number
        receipts = [send(client, later(body, day)).json for body in order]
        told.append([(r["standing"], codes(r)) for r in receipts])

    assert told == [[("released", []), ("provisional", [CODE]), ("provisional", [CODE])]] * 6


def test_a_double_changes_neither_use_nor_due_date(client: FlaskClient) -> None:
    """That somebody has to look at it is all that is said more."""
    asked = [f"/v1/devices/A-04/use{ON}", f"/v1/due{ON}&within_days=400"]
    send(client, example())
    before = [client.get(address).json for address in asked]

    send(client, example() | {"remarks": "again"})
    use, due = (client.get(address).json for address in asked)

    assert use["why"].pop(0)["code"] == "not-reviewed"
    assert [use, due] == before


def test_two_in_one_batch_are_seen_too(client: FlaskClient) -> None:
    sent = [body | {"id": an_id()} for body in (example(), installed_anew())]

    results = client.post("/v1/calibrations:batch", json=sent).json["results"]

    assert [codes(one["receipt"]) for one in results] == [[], [CODE]]


def test_a_check_tells_it_beforehand_and_not_of_the_visit_itself(client: FlaskClient) -> None:
    calibration = an_id()
    send(client, example(), calibration)

    found = [
        client.post("/v1/calibrations:check", json=body).json
        for body in (example(), example() | {"id": calibration.upper()})
    ]

    assert [(codes(one), one["standing"]) for one in found] == [([CODE], "provisional"), ([], "released")]


def test_a_person_says_it_is_the_same_visit_and_it_is_void(client: FlaskClient, settings: Settings) -> None:
    first, receipt = two(client)
    second = receipt["calibration"]

    answer = closed(client, second, first.upper(), same=True)
    before = rows(settings)
    again = closed(client, second, first, same=True)

    assert (answer.status_code, answer.json["standing"], answer.json["replayed"]) == (200, "void", False)
    assert answer.json["because"] == f"the same visit as {first}: Asked the technician of the visit."
    assert (again.json["replayed"], rows(settings)) == (True, before)
    assert kept(client, first)["standing"] == "released"
    entry = client.get(f"/v1/changes?after={answer.json['log_number'] - 1}").json["items"][0]
    touched = {(one["kind"], one["key"]) for one in entry["touched"]}
    assert (entry["kind"], entry["by_whom"]) == ("calibration void", "S-01")
    assert {("calibration", f"QG/{first}"), ("calibration", f"QG/{second}"), ("device", "A-04")} <= touched


def test_the_first_may_be_the_one_that_goes(client: FlaskClient) -> None:
    first, receipt = two(client)

    assert closed(client, first, receipt["calibration"], same=True).json["standing"] == "void"
    assert release(client, receipt["calibration"]).json["standing"] == "released"


def test_a_person_says_it_is_another_visit_and_a_release_needs_no_more_words(
    client: FlaskClient, settings: Settings
) -> None:
    first, receipt = two(client)
    second = receipt["calibration"]

    answer = closed(client, second, first, same=False)
    before = rows(settings)
    again = closed(client, second, first, same=False)

    assert (answer.status_code, answer.json["standing"], answer.json["replayed"]) == (200, "provisional", False)
    assert (again.json["replayed"], rows(settings)) == (True, before)
    said = [e for e in client.get(f"/v1/calibrations/{second}/life").json["events"] if e["kind"] == "flag answered"]
    assert [(e["by_whom"], e["facts"]) for e in said] == [("S-01", {"code": CODE})]
    assert said[0]["words"] == f"Not the same visit as {first}: Asked the technician of the visit."
    released = act(client, second, "release", {**seen(kept(client, second)), "answers": []})
    assert (released.status_code, released.json["standing"]) == (200, "released")


def test_what_was_closed_stays_closed_when_the_record_is_judged_again(client: FlaskClient) -> None:
    unknown = example() | {"ward": "QG-NEW"}
    second = two(client, unknown, unknown)[1]["calibration"]
    link = {"kind": "ward", "as_sent": "QG-NEW", "key": "QG-CDU", "because": "It was named anew."}

    assert codes(act(client, second, "links", link).json) == [CODE]
    sent = send(client, unknown | {"remarks": "third"}).json
    third, other = sent["calibration"], next(f["facts"] for f in sent["flags"] if f["code"] == CODE)["calibration"]
    assert closed(client, third, other, same=False).status_code == 200

    assert codes(act(client, third, "links", link).json) == []


def test_an_amendment_of_a_possible_double_is_one_too(client: FlaskClient) -> None:
    _, receipt = two(client)
    calibration = receipt["calibration"]
    asked = {"supersedes": receipt["digest"], "because": "A word.", "content": installed_anew() | {"remarks": "mended"}}

    assert codes(act(client, calibration, "amendments", asked).json) == [CODE]


def test_one_of_the_two_has_to_stand(client: FlaskClient) -> None:
    first, receipt = two(client)
    second = receipt["calibration"]
    closed(client, second, first, same=True)

    answers = [closed(client, first, second, same=True), closed(client, first, first, same=True)]

    assert [(a.status_code, a.json["code"]) for a in answers] == [(409, "no-double")] * 2
    assert kept(client, first)["standing"] == "released"


def test_what_was_not_flagged_is_not_closed(client: FlaskClient) -> None:
    first, receipt = two(client)

    answers = [
        closed(client, first, receipt["calibration"], same=False),
        closed(client, receipt["calibration"], an_id(), same=False),
        closed(client, receipt["calibration"], an_id(), same=True),
        closed(client, an_id(), first, same=True),
    ]

    codes_told = [(a.status_code, a.json["code"]) for a in answers]
    assert codes_told == [(409, "no-double"), (409, "no-double"), (404, "not-on-record"), (404, "not-on-record")]


def test_a_change_of_the_register_makes_no_doubles(client: FlaskClient) -> None:
    """The flag follows from what is on record when it arrives, and from nothing that comes later."""
    calibration = an_id()
    send(client, example(), calibration)
    device = client.get(f"/v1/devices/A-04{ON}").json["record"]

    change(client, "devices/A-04", "2026-11-25", device | {"place": "bay 9"})

    assert codes(kept(client, calibration)) == []
