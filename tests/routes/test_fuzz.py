"""The example bodies, mutated without mercy: never a 500, never a half-written record, and what is kept can be read."""

import json
from copy import deepcopy
from typing import Any, get_args

from flask.testing import FlaskClient
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from api.database import reading
from api.metrology import terms
from tests.doors import an_id, example, example_bytes, send
from tests.filled_record import rows_seen

NAMES = (
    "calibration-pass", "calibration-fail-adjusted", "calibration-dual-unit", "calibration-not-tested",
    "calibration-wheelchair", "calibration-dialysis", "calibration-bed-pads", "calibration-balance",
)  # fmt: skip
HEADER = st.text(st.characters(max_codepoint=255, exclude_categories=["Cc"]), max_size=60)
ONE_EACH = ("content", "judgement", "standing_event", "arrival", "log_entry", "sealed")
ALIKE = settings(
    max_examples=80, database=None, derandomize=True,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)  # fmt: skip

DECIMALS = st.from_regex(r"-?[0-9]{1,9}(\.[0-9]{1,9})?", fullmatch=True)
UNITS = ["kg", "g", "mg", "[lb_av]", "[oz_av]", "[stone_av]"]
MASSES = st.one_of(
    st.builds(lambda v, u: {"value": v, "unit": u}, DECIMALS, st.sampled_from(UNITS)),
    st.just({"parts": [{"value": "7", "unit": "[lb_av]"}, {"value": "4.5", "unit": "[oz_av]"}]}),
)
JUNK = st.one_of(
    st.none(), st.booleans(), st.integers(), st.floats(allow_nan=False, allow_infinity=False), st.text(max_size=50),
    st.just({}), st.just([]), MASSES, DECIMALS, st.just("x" * 5000), st.lists(st.text(max_size=3), max_size=300),
)  # fmt: skip
# By the name of a field: values of the right form, seldom the right ones, so that a mutant gets as far as the judgement.
LIKELY: dict[str, st.SearchStrategy[Any]] = {
    "value": st.one_of(DECIMALS, st.sampled_from(["0", "0.0", "-0.1", "0.05", "199.95", "999999999.999999999"])),
    "unit": st.sampled_from([*UNITS, "compound"]),
    "indication": MASSES, "load": MASSES, "before": MASSES, "added": MASSES, "at_load": MASSES,
    "test": st.sampled_from(get_args(terms.TestName)), "placed": st.sampled_from(get_args(terms.Placed)),
    "position": st.sampled_from(get_args(terms.Position)),
    "purpose": st.sampled_from(get_args(terms.Purpose)), "outcome": st.sampled_from(get_args(terms.Outcome)),
    "type": st.sampled_from(get_args(terms.AdjustmentType)), "decision": st.sampled_from(get_args(terms.AfterVisit)),
    "device": st.sampled_from(["A-04", "B-02", "C-05", "E-02", "G-01", "Z-99"]), "site": st.sampled_from(["QG", "HM", "ZZ"]),
    "pieces": st.lists(st.sampled_from(["FS1-20-01", "FS1-20-02", "FS1-10", "FS1-2-A", "NO-1"]), max_size=8),
    "range_selected": st.integers(0, 5), "seq": st.integers(0, 30), "excluded": st.just("bumped"),
    "start": st.datetimes().map(lambda t: t.isoformat(timespec="seconds") + "Z"),
    "end": st.datetimes().map(lambda t: t.isoformat(timespec="seconds") + "-07:00"),
    "readings": st.just([]),
}  # fmt: skip


def places(body: Any) -> list[tuple[Any, Any]]:
    """Every place in a body: its holder and its name or number."""
    found = []
    items = body.items() if isinstance(body, dict) else enumerate(body) if isinstance(body, list) else ()
    for name, value in items:
        found += [(body, name), *places(value)]
    return found


@st.composite
def mutants(draw: st.DrawFn) -> Any:
    body = deepcopy(example(draw(st.sampled_from(NAMES))))
    for _ in range(draw(st.integers(1, 5))):
        everywhere = places(body)
        if not everywhere:
            break
        holder, name = draw(st.sampled_from(everywhere))
        way = draw(st.sampled_from(["likely", "likely", "likely", "delete", "junk", "move", "twice", "unknown"]))
        if way == "likely":
            holder[name] = deepcopy(draw(LIKELY.get(str(name), JUNK if isinstance(name, str) else MASSES)))
        elif way == "delete":
            del holder[name]
        elif way == "junk":
            holder[name] = deepcopy(draw(JUNK))
        elif way == "move":
            other, place = draw(st.sampled_from(everywhere))
            holder[name] = deepcopy(other[place]) if place in other or isinstance(other, list) else None
        elif way == "twice" and isinstance(holder, list):
            holder.append(deepcopy(holder[name]))
        elif isinstance(holder, dict):
            holder[draw(st.text(min_size=1, max_size=12))] = deepcopy(draw(JUNK))
    return body


def seen(client: FlaskClient) -> dict[str, int]:
    with reading(client.application.extensions["steelyard.engine"]) as connection:
        return rows_seen(connection)


@ALIKE
@given(mutants())
def test_a_mutant_is_refused_with_nothing_kept_or_kept_whole(door: FlaskClient, body: Any) -> None:
    calibration, before = an_id(), seen(door)

    answer = send(door, body, calibration)

    grown = {name: count - before[name] for name, count in seen(door).items() if count != before[name]}
    assert answer.status_code in (201, 400, 422), answer.get_data(as_text=True)
    if answer.status_code != 201:
        assert answer.json["errors"]
        assert grown == {}
    else:
        assert {grown.pop(name) for name in ONE_EACH} == {1}
        assert (answer.json["standing"] == "released") is not bool(answer.json["flags"])
        assert ("certificate" in answer.json) is ("certificate" in grown)
        assert_it_can_be_read(door, calibration, body)


def assert_it_can_be_read(client: FlaskClient, calibration: str, body: Any) -> None:
    asked = f"/v1/calibrations/{calibration}?site={body['site']}"
    assert client.get(asked).json["content"] == body
    assert send(client, body, calibration).json["replayed"] is True
    for question in ("history", "use?on=2026-11-25", "use?on=2030-01-01"):
        assert client.get(f"/v1/devices/{body['device']}/{question}").status_code in (200, 404)
    assert client.get("/v1/due?on=2026-11-25").status_code == 200


@ALIKE
@given(st.data())
def test_a_body_with_bytes_cut_changed_or_put_in_is_never_half_kept(door: FlaskClient, data: st.DataObject) -> None:
    body = bytearray(example_bytes(data.draw(st.sampled_from(NAMES))))
    for _ in range(data.draw(st.integers(1, 4))):
        place = data.draw(st.integers(0, len(body)))
        cut = data.draw(st.sampled_from([0, 0, 1, 5]))
        marks = st.sampled_from([b'"', b"\\", b"{", b",", b"\x00"])
        body[place : place + cut] = data.draw(st.one_of(st.binary(max_size=4), marks))
    before = seen(door)

    answer = send(door, bytes(body))

    assert answer.status_code in (201, 400, 422), answer.get_data(as_text=True)
    if answer.status_code != 201:
        assert seen(door) == before


@ALIKE
@given(st.one_of(
    st.binary(max_size=300), st.text(max_size=200).map(str.encode),
    st.recursive(JUNK, lambda inner: st.lists(inner)).map(lambda value: json.dumps(value).encode()),
))  # fmt: skip
def test_anything_at_all_as_a_body_gets_a_clear_answer(door: FlaskClient, body: bytes) -> None:
    for address in ("/v1/sites/QG", "/v1/jobs", f"/v1/calibrations/{an_id()}"):
        answer = door.open(address, method="POST" if "jobs" in address else "PUT", data=body,
                           headers={"Content-Type": "application/json"})  # fmt: skip
        assert answer.status_code in (400, 422)
        assert answer.json["errors"]


@ALIKE
@given(HEADER, HEADER, HEADER)
def test_no_header_breaks_the_service(door: FlaskClient, by: str, at: str, tag: str) -> None:
    told = {"Steelyard-By": by, "Steelyard-Sent-At": at, "If-Match": tag}
    sent = {name: text.encode("latin-1", "ignore").decode("latin-1") for name, text in told.items()}
    site = door.get("/v1/sites/QG").json
    asked = json.dumps({"valid_from": site["valid_from"], "record": site["record"]}).encode()

    for address, body in (("/v1/sites/QG", asked), (f"/v1/calibrations/{an_id()}", example_bytes())):
        answer = door.put(address, data=body, headers={"Content-Type": "application/json", **sent})
        assert answer.status_code in (200, 201, 412), answer.get_data(as_text=True)
