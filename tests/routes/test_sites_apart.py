"""What belongs to another site is as if it were not there: in what is sent, on the register, in what is answered. Own rules.

The invented network has two sites: QG with scale A-04, HM with A-02; weights of either travel to both.
"""

import json
from collections.abc import Callable, Iterator
from functools import cache
from typing import Any

import pytest
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from api.settings import Settings
from tests.doors import an_id, change, example, later, send
from tests.filled_record import TODAY
from tests.keyed import ALL, a_key, client_with, keyed_app

DAY = TODAY.isoformat()
ON = f"?on={DAY}"
At = Callable[..., FlaskClient]


@pytest.fixture
def at(settings: Settings) -> Iterator[At]:
    """Give what gives a client with every scope at some sites, at all where none is named."""
    with keyed_app(settings) as app:
        engine = app.extensions["steelyard.engine"]

        @cache
        def client_at(*sites: str) -> FlaskClient:
            return client_with(app, a_key(engine, *ALL, sites=sites or None, holder="-".join(("APP", *sites))))

        yield client_at


def record_of(client: FlaskClient, address: str) -> Any:
    answer = client.get(f"/v1/{address}{ON}")
    assert answer.status_code == 200, answer.get_data(as_text=True)
    return answer.json["record"]


def said(answer: TestResponse, *names: str) -> tuple[int, Any]:
    """The status and the problem without the request's own name; names that were asked for are all one."""
    text = answer.get_data(as_text=True)
    for name in names:
        text = text.replace(name, "…")
    found = json.loads(text)
    found.pop("instance", None)
    return answer.status_code, found


def test_a_visit_is_taken_only_at_a_site_of_the_key_whether_there_is_such_a_site_or_not(at: At) -> None:
    there, nowhere = send(at("HM"), example()), send(at("HM", "LK"), example() | {"site": "ZZ"})

    assert (there.status_code, nowhere.status_code) == (403, 403)
    assert there.json["code"] == nowhere.json["code"] == "site-not-in-key"
    assert there.json["facts"] == {"site": "QG", "sites": "HM"}
    assert nowhere.json["detail"] == "This key does nothing at site 'ZZ'. It is for: HM, LK."


def test_an_id_that_another_site_used_is_free_at_ones_own(at: At) -> None:
    name = an_id()
    visit_at_hm = example() | {"site": "HM", "device": "A-02", "ward": "HM-MED"}

    first, second = send(at("QG"), example(), name), send(at("HM"), visit_at_hm, name)

    assert (first.status_code, second.status_code) == (201, 201)
    for site in ("QG", "HM"):
        found = at().get(f"/v1/calibrations/{name}?site={site}")
        assert found.json["site"] == site
    assert at("HM").get(f"/v1/calibrations/{name}").json["site"] == "HM"
    assert at("HM").get(f"/v1/calibrations/{name}?site=QG").status_code == 404
    assert at().get(f"/v1/calibrations/{name}").status_code == 404  # at two sites: say which


def test_a_visit_that_names_another_sites_scale_is_kept_as_one_that_names_none(at: At) -> None:
    names = ("A-04", "Z-99")
    visits = [example() | {"site": "HM", "device": name, "ward": "HM-MED"} for name in names]

    receipts = [send(at("HM"), visit).json for visit in visits]

    flags = [str(receipt["flags"]).replace(name, "…") for receipt, name in zip(receipts, names, strict=True)]
    assert flags[0] == flags[1]
    assert "at the sites of the key that sent it (HM)" in receipts[0]["flags"][0]["sentence"]
    assert [(r["standing"], r.get("certificate")) for r in receipts] == [("provisional", None)] * 2


def test_a_visit_with_weights_that_another_site_keeps_is_judged_as_any_other(at: At) -> None:
    own, everywhere = send(at("QG"), example()), send(at(), later(example(), -24))

    assert own.json["flags"] == everywhere.json["flags"] == []
    assert own.json["as_found"] == everywhere.json["as_found"] == "pass"
    hm = send(at("HM"), example() | {"site": "HM", "device": "A-02", "ward": "HM-MED"})  # pieces of FS-1, kept at QG
    assert hm.json["as_found"] == "pass"
    assert "weight" not in {flag["code"].split("-")[0] for flag in hm.json["flags"]}


def test_bad_news_from_elsewhere_counts_though_who_asks_does_not_see_the_visit(at: At) -> None:
    """A scale's use is a matter of the scale, not of who asks: only the visits themselves are out of sight."""
    later = {"start": "2026-11-24T12:00:00-07:00", "end": "2026-11-24T12:30:00-07:00"}
    showing_pounds = {
        "site": "HM",
        "ward": "HM-MED",
        "performed": later,
        "configuration": {"after": {"unit": "[lb_av]"}},
    }
    usable = ("may use", "may use within limits")

    send(at("QG"), example())
    before = at("QG").get(f"/v1/devices/A-04/use{ON}").json["may"]
    send(at("HM"), example() | showing_pounds)
    after = at("QG").get(f"/v1/devices/A-04/use{ON}").json["may"]

    assert (before in usable, after in usable) == (True, False)
    assert after == at().get(f"/v1/devices/A-04/use{ON}").json["may"]
    assert {item["site"] for item in at("QG").get("/v1/devices/A-04/history").json["items"]} == {"QG"}
    assert {item["site"] for item in at().get("/v1/devices/A-04/history").json["items"]} == {"QG", "HM"}


def test_a_site_puts_on_the_register_what_is_its_own(at: At) -> None:
    client = at("QG")
    device = record_of(client, "devices/A-04") | {"firmware": "9.9"}
    new = device | {"tag": "N-01", "serial": "N-1"}

    assert change(client, "devices/A-04", DAY, device).status_code == 200
    assert change(client, "devices/N-01", DAY, new).status_code == 201
    assert client.get(f"/v1/devices/N-01{ON}").headers["ETag"].startswith('"1-')


def test_a_site_changes_nothing_of_another_and_takes_nothing_from_it(at: At) -> None:
    own, other = at("HM"), at("QG")
    device, ward = record_of(other, "devices/A-04"), record_of(other, "wards/QG-CDU")
    taken = device | {"site": "HM", "ward": "HM-MED"}
    here = record_of(own, "devices/A-02")

    refused = {
        "at its site": change(own, "devices/A-04", DAY, device),
        "at its site, unknown": change(own, "devices/Z-99", DAY, device | {"tag": "Z-99"}),
        "taken": change(own, "devices/A-04", DAY, taken),
        "given away": change(own, "devices/A-02", DAY, here | {"site": "QG", "ward": "QG-CDU"}),
        "ward": change(own, "wards/QG-CDU", DAY, ward | {"site": "HM"}),
        "site": change(own, "sites/QG", DAY, record_of(other, "sites/QG")),
    }

    found = {what: (a.status_code, a.json["code"]) for what, a in refused.items()}
    assert found == {
        "at its site": (403, "site-not-in-key"), "at its site, unknown": (403, "site-not-in-key"),
        "taken": (409, "address-taken"), "given away": (403, "site-not-in-key"), "ward": (409, "address-taken"),
        "site": (403, "site-not-in-key"),
    }  # fmt: skip
    assert said(refused["at its site"], "A-04") == said(refused["at its site, unknown"], "Z-99")
    assert "QG" not in refused["taken"].get_data(as_text=True)


def test_a_scale_in_a_ward_of_another_site_is_refused_as_one_in_no_ward(at: At) -> None:
    client = at("HM")
    device = record_of(client, "devices/A-02")

    answers = [
        said(change(client, "devices/A-02", DAY, device | {"ward": ward}), ward) for ward in ("QG-CDU", "QG-XYZ")
    ]

    assert answers[0] == answers[1]
    assert (answers[0][0], answers[0][1]["code"]) == (422, "reference-missing")


def test_a_former_tag_of_another_site_is_taken_and_nothing_is_said_of_its_holder(at: At) -> None:
    client = at("HM")
    new = record_of(client, "devices/A-02") | {"tag": "N-01", "serial": "N-1", "previous_tags": ["A-04"]}
    like = new | {"tag": "a.04", "previous_tags": []}

    former, folded = change(client, "devices/N-01", DAY, new), change(client, "devices/a.04", DAY, like)

    assert (former.status_code, folded.status_code) == (409, 409)
    assert former.json["detail"] == "The former tag 'A-04' belongs to another device; leave it out."
    assert folded.json["detail"] == "The address d/a-04/ belongs to another for good; choose another device code."
    assert "holder" not in former.json["facts"] | folded.json["facts"]


def test_weights_are_seen_by_every_site_and_changed_by_the_one_that_keeps_them(at: At) -> None:
    client = at("HM")
    piece, held = record_of(client, "weights/FS1-10"), record_of(client, "weight-sets/FS-1")
    certificate = record_of(client, "weight-certificates/LM-FS-1-4")
    own = record_of(client, "weights/FS2-10")

    refused = [
        change(client, "weights/FS1-10", DAY, piece | {"custodian": "somebody"}),
        change(client, "weights/FS1-10", DAY, piece | {"site": "HM"}),
        change(client, "weight-sets/FS-1", DAY, held | {"custodian": "somebody"}),
        change(client, "weight-certificates/LM-FS-1-4", DAY, certificate),
        change(client, "weight-certificates/LM-FS-1-4", DAY, certificate | {"pieces": [
            {**certificate["pieces"][0], "piece": "FS2-10"}]}),
    ]  # fmt: skip

    assert [(a.status_code, a.json["code"]) for a in refused] == [(403, "site-not-in-key")] * 5
    assert change(client, "weights/FS2-10", DAY, own | {"custodian": "somebody"}).status_code == 200


@pytest.mark.parametrize("address", ["models/COL-200", "technicians/T-01", "policies/network", "house-rules/BED-1PCT"])
def test_what_belongs_to_the_network_is_seen_by_all_and_changed_with_a_key_for_all_sites(at: At, address: str) -> None:
    record = record_of(at("QG"), address)

    refused, taken = change(at("QG", "HM"), address, DAY, record), change(at(), address, DAY, record)

    assert (refused.status_code, refused.json["code"]) == (403, "site-not-in-key")
    assert taken.status_code == 200


def test_a_round_with_another_sites_scale_is_refused_as_one_with_a_scale_that_is_not_there(at: At) -> None:
    client = at("HM")

    answers = [
        said(client.post("/v1/rounds:weights", json={"on": DAY, "devices": ["A-02", tag]}), tag)
        for tag in ("A-04", "Z-99")
    ]

    assert answers[0] == answers[1]
    assert answers[0][1]["facts"] == {"devices": "…"}
    assert client.post("/v1/rounds:weights", json={"on": DAY, "devices": ["A-02"]}).status_code == 200


def test_a_scale_that_moved_is_its_new_sites_from_that_day_on(at: At) -> None:
    """A-07 went from QG to HM; the register says since when."""
    revisions = at().get("/v1/devices/A-07/revisions").json["items"]
    moved = next(r["valid_from"] for r in revisions if r["record"]["site"] == "HM")
    before = min(r["valid_from"] for r in revisions)

    def seen(client: FlaskClient) -> list[int]:
        return [client.get(f"/v1/devices/A-07?on={day}").status_code for day in (before, moved)]

    assert (seen(at("QG")), seen(at("HM"))) == ([200, 404], [404, 200])
    for site in ("QG", "HM"):
        items = at(site).get("/v1/devices/A-07/revisions").json["items"]
        assert {item["record"]["site"] for item in items} == {site}


def test_keys_of_a_site_make_keys_for_that_site_and_see_no_others(at: At) -> None:
    client = at("QG")
    wanted = {"held_by": "installation", "holder": "NEW", "scopes": ["read"]}

    made = client.post("/v1/keys", json=wanted | {"sites": ["QG"]})
    for_all = client.post("/v1/keys", json=wanted)
    for_other = client.post("/v1/keys", json=wanted | {"sites": ["QG", "HM"]})
    at("HM")

    assert (made.status_code, for_all.status_code, for_other.status_code) == (201, 403, 403)
    assert {item["holder"] for item in client.get("/v1/keys").json["items"]} == {"APP-QG", "NEW"}
