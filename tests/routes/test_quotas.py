"""Quotas, and the fields that tell of them: Structured Fields as RFC 8941 writes lists of items with parameters.

The form of the fields is that of the IETF draft on RateLimit fields of September 2025: `RateLimit-Policy: "burst";q=100;w=60,
"daily";q=1000;w=86400` and `RateLimit: "burst";r=50;t=30`.
"""

import re

import pytest

from api.routes.quotas import MOST_COUNTED, PER_KEY, Counts, QuotaExceeded, QuotaPolicy, limit_field, policy_field
from api.settings import Settings
from tests.keyed import a_key, bearing, keyed_app

BURST, DAILY = QuotaPolicy("burst", 3, 60), QuotaPolicy("daily", 5, 86_400)
# RFC 8941 sections 3.1, 3.1.2, 3.3.1 and 3.3.3, for what is written here: strings with parameters that are integers.
ITEM = re.compile(r'"([ !#-\[\]-~]*)"((?:;[a-z*][a-z0-9_.*-]*=[0-9]{1,15})+)')


def parsed(field: str) -> list[tuple[str, dict[str, int]]]:
    items = [ITEM.fullmatch(item) for item in re.split(r"[ \t]*,[ \t]*", field)]
    assert None not in items, field
    return [
        (item[1], {name: int(value) for name, value in (p.split("=") for p in item[2][1:].split(";"))})
        for item in items
        if item
    ]


def test_the_fields_of_the_draft_are_written_as_the_draft_writes_them() -> None:
    policies = (QuotaPolicy("burst", 100, 60), QuotaPolicy("daily", 1000, 86_400))
    counts = Counts()
    for _ in range(49):
        counts.take("a", policies[:1], 0.0)

    assert policy_field(policies) == '"burst";q=100;w=60, "daily";q=1000;w=86400'
    assert limit_field(counts.take("a", policies[:1], 30.0)) == '"burst";r=50;t=30'


def test_a_window_lets_its_quota_through_and_no_more_and_begins_anew_when_it_ends() -> None:
    counts = Counts()

    left = [counts.take("a", (BURST,), moment)[0] for moment in (10.0, 11.5, 69.9)]
    with pytest.raises(QuotaExceeded) as refused:
        counts.take("a", (BURST,), 69.95)
    again = counts.take("a", (BURST,), 70.0)[0]

    assert [(one.requests, one.seconds) for one in left] == [(2, 60), (1, 59), (0, 1)]
    assert refused.value.left.seconds == 1
    assert (again.requests, again.seconds) == (2, 60)


def test_each_asker_has_a_count_of_their_own() -> None:
    counts = Counts()

    assert [counts.take(who, (BURST,), 0.0)[0].requests for who in ("a", "b", "a")] == [2, 2, 1]


def test_what_is_refused_by_one_policy_is_counted_by_none_and_the_longest_wait_is_told() -> None:
    counts = Counts()
    for moment in (0.0, 1.0, 2.0, 60.0, 61.0):
        counts.take("a", (BURST, DAILY), moment)

    with pytest.raises(QuotaExceeded) as refused:
        counts.take("a", (BURST, DAILY), 62.0)

    assert (refused.value.left.policy, refused.value.left.seconds) == (DAILY, 86_338)
    assert counts.take("a", (BURST,), 62.0)[0].requests == 0


def test_no_crowd_of_askers_fills_the_memory() -> None:
    counts = Counts()

    for number in range(3 * MOST_COUNTED):
        counts.take(f"from {number}", (BURST,), float(number))

    assert len(counts._windows) <= MOST_COUNTED + 1


def test_every_answer_to_a_key_tells_what_is_left_and_the_one_too_many_when_to_come_again(
    settings: Settings, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("api.routes.admission.time.monotonic", lambda: 1000.0)
    with keyed_app(settings) as app:
        engine, client = app.extensions["steelyard.engine"], app.test_client()
        key, other = a_key(engine, "read"), a_key(engine, "read", holder="APP-2")
        minute = PER_KEY[0]
        answers = [client.get("/v1/about", headers=bearing(key)) for _ in range(minute.quota + 1)]
        another = client.get("/v1/about", headers=bearing(other))

    assert {a.status_code for a in answers[:-1]} == {200}
    assert parsed(answers[0].headers["RateLimit-Policy"]) == [
        (p.name, {"q": p.quota, "w": p.window_s}) for p in PER_KEY
    ]
    assert parsed(answers[0].headers["RateLimit"])[0] == ("minute", {"r": minute.quota - 1, "t": 60})
    assert parsed(answers[-2].headers["RateLimit"])[0] == ("minute", {"r": 0, "t": 60})
    refused = answers[-1]
    assert (refused.status_code, refused.json["code"]) == (429, "quota-exceeded")
    assert refused.json["violated-policies"] == ["minute"]
    ((name, left),) = parsed(refused.headers["RateLimit"])
    assert (name, left["r"]) == ("minute", 0)
    assert int(refused.headers["Retry-After"]) >= left["t"]
    assert another.status_code == 200
